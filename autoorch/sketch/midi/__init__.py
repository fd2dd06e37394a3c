"""MIDI in: `take` reads the file, `notated` and `played` place its notes on a grid, `score` makes the sketch."""

from autoorch.sketch.midi.metre import Known
from autoorch.sketch.midi.played import NOTHING
from autoorch.sketch.midi.score import read_midi
from autoorch.sketch.midi.take import is_midi

__all__ = ["NOTHING", "Known", "is_midi", "read_midi"]
