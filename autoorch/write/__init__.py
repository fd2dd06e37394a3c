"""The files: MusicXML, MIDI, the record, the queries."""
