"""Standard MIDI files as sketches: events, then a grid, then bars and spelling."""

from autoorch.sketch.midi.read import is_midi, read_midi

__all__ = ["is_midi", "read_midi"]
