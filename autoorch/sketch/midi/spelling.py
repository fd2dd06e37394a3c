"""Names for MIDI numbers: those nearest to the key on the line of fifths."""

from __future__ import annotations

from autoorch.pitch import Pitch, from_midi
from autoorch.sketch.midi.take import Take

CENTRE = {"major": 2, "minor": 3}
"""Middle of the twelve names of a key, in fifths from its signature: D in C major; in A minor a fifth higher, so that the
raised sixth and seventh degrees are sharps (common practice)."""
_MOST = 6


def likely_fifths(take: Take) -> int:
    """The signature whose seven notes hold most of the sounding time; the one with fewer sharps or flats among equals."""
    held = [0] * 12
    for note in take.notes:
        held[note.key % 12] += note.end - note.start + 1

    def outside(fifths: int) -> tuple[int, int, int]:
        return (-sum(held[(fifths + step) * 7 % 12] for step in range(-1, 6)), abs(fifths), fifths)

    return min(range(-_MOST, _MOST + 1), key=outside)


def spelled(number: int, fifths: int, mode: str) -> Pitch:
    """The MIDI number as the key with that signature writes it."""
    return from_midi(number, fifths + CENTRE.get(mode, CENTRE["major"]))
