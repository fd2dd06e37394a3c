"""The pieces that drafts are measured on: piano music and chorales out of music21's corpus, by short names."""

from __future__ import annotations

import copy
import shutil
from pathlib import Path

import mido
from music21 import clef, corpus, layout, stream

PIANO = {
    "bwv846": "bach/bwv846",
    "mazurka": "chopin/mazurka06-2",
    "h186": "cpebach/h186",
    "rag": "joplin/maple_leaf_rag",
    "k545": "mozart/k545/movement1_exposition",
    "polonaise1": "schumann_clara/polonaise_op1n1",
    "polonaise2": "schumann_clara/polonaise_op1n2",
    "polonaise3": "schumann_clara/polonaise_op1n3",
    "polonaise4": "schumann_clara/polonaise_op1n4",
    "op19-2": "schoenberg/opus19/movement2",
    "op19-6": "schoenberg/opus19/movement6",
    "donna": "verdi/laDonnaEMobile",
}
CHORALES = {
    f"bwv{number}": f"bach/bwv{number}"
    for number in (
        *("17.7", "28.6", "33.6", "38.6", "40.8", "65.2", "86.6", "145.5", "153.1", "153.5"),
        *("184.5", "248.12-2", "267", "269", "277", "281", "302", "311", "318", "351"),
    )
}
PIECES = tuple(PIANO) + tuple(CHORALES)
LINEUPS = ("string quartet", "wind quintet", "string orchestra", "chamber", "classical", "romantic", "studio")


def sketch_file(name: str, folder: Path) -> Path:
    """The piece as a file in `folder`: piano music as it stands in the corpus, chorales put on two staves.

    Raises:
        KeyError: for a name that is not in PIECES.
    """
    if name in PIANO:
        source = Path(corpus.getWork(PIANO[name]))
        return Path(shutil.copy(source, folder / f"{name}{source.suffix}"))
    path = folder / f"{name}.musicxml"
    two_staves(corpus.parse(CHORALES[name])).write("musicxml", path)
    return path


def opening(path: Path, folder: Path, bars: int) -> Path:
    """The first bars of a notated MIDI file as a file in `folder`; what sounds at the cut ends there."""
    source = mido.MidiFile(path)
    end = _bars(source, bars)
    made = mido.MidiFile(type=1, ticks_per_beat=source.ticks_per_beat)
    for track in source.tracks:
        own, now = mido.MidiTrack(), 0
        sounding: set[tuple[int, int]] = set()
        for message in track:
            if now + message.time >= end:
                break
            now += message.time
            own.append(message)
            if message.type in ("note_on", "note_off"):
                struck = message.type == "note_on" and message.velocity > 0
                (sounding.add if struck else sounding.discard)((message.channel, message.note))
        for channel, note in sorted(sounding):
            own.append(mido.Message("note_off", channel=channel, note=note, time=end - now))
            now = end
        made.tracks.append(own)
    found = folder / path.name
    made.save(found)
    return found


def _bars(file: mido.MidiFile, count: int) -> int:
    """The tick at which so many bars have passed."""
    metres, now = {0: (4, 4)}, 0
    for message in mido.merge_tracks(file.tracks):
        now += message.time
        if message.type == "time_signature":
            metres[now] = message.numerator, message.denominator
    tick = 0
    for _ in range(count):
        beats, unit = metres[max(place for place in metres if place <= tick)]
        tick += file.ticks_per_beat * 4 * beats // unit
    return tick


def two_staves(chorale: stream.Score) -> stream.Score:
    """Soprano and alto as two voices on a treble staff, tenor and bass on a bass staff, braced as a piano."""
    parts = [part for part in chorale.parts if part.recurse().notes]
    staves = []
    for pair, sign in ((parts[:2], clef.TrebleClef), (parts[-2:], clef.BassClef)):
        staff = stream.PartStaff()
        for upper, lower in zip(*(part.getElementsByClass(stream.Measure) for part in pair), strict=True):
            bar = stream.Measure(number=upper.number)
            bar.paddingLeft = upper.paddingLeft
            for mark in (upper.keySignature, upper.timeSignature):
                if mark is not None:
                    bar.insert(0, copy.deepcopy(mark))
            for number, source in ((1, upper), (2, lower)):
                voice = stream.Voice(id=str(number))
                for element in source.notesAndRests:
                    voice.insert(element.offset, copy.deepcopy(element))
                bar.insert(0, voice)
            bar.leftBarline, bar.rightBarline = copy.deepcopy(upper.leftBarline), copy.deepcopy(upper.rightBarline)
            staff.append(bar)
        staff.getElementsByClass(stream.Measure).first().insert(0, sign())
        staves.append(staff)
    score = stream.Score(staves)
    score.insert(0, layout.StaffGroup(staves, symbol="brace"))
    return score
