"""Pitch as the trade writes and hears it: a spelling (step, alteration, octave) with its MIDI number; C4 = 60 = middle C.

Intervals are pairs (diatonic steps, semitones), so that transposing keeps the spelling: a major second up is (1, 2).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

STEPS = "CDEFGAB"
NATURAL = (0, 2, 4, 5, 7, 9, 11)
_SHARPS = "FCGDAEB"
FLATTEST, SHARPEST = -9, 13
"""Centres on the line of fifths whose windows of twelve names reach no further than Fbb and Bx (two accidentals)."""
_FIFTHS_OF_STEP = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
_NAME = re.compile(r"^([A-Ga-g])(#{0,3}|b{0,3}|x)(-?\d+)$")


@dataclass(frozen=True)
class Pitch:
    """A spelled pitch.

    Attributes:
        step: letter C to B.
        alter: semitones of alteration, -3 to 3.
        octave: scientific octave of the letter (B#3 sounds as C4 but has octave 3).
    """

    step: str
    alter: int
    octave: int

    @cached_property
    def midi(self) -> int:
        """MIDI number, middle C = 60; may lie outside 0 to 127."""
        return 12 * (self.octave + 1) + NATURAL[STEPS.index(self.step)] + self.alter

    @property
    def diatonic(self) -> int:
        """Letters counted from C0."""
        return 7 * self.octave + STEPS.index(self.step)

    @property
    def fifths(self) -> int:
        """Place on the line of fifths, C = 0, G = 1, F = -1, C# = 7."""
        return _FIFTHS_OF_STEP[self.step] + 7 * self.alter

    def __str__(self) -> str:
        return f"{self.step}{'#' * self.alter if self.alter > 0 else 'b' * -self.alter}{self.octave}"

    def transposed(self, diatonic: int, semitones: int) -> Pitch:
        """The pitch that lies `diatonic` letters and `semitones` away.

        A result with more than two accidentals is respelled with fewer.
        """
        octave, letter = divmod(self.diatonic + diatonic, 7)
        alter = self.midi + semitones - (12 * (octave + 1) + NATURAL[letter])
        if abs(alter) > 2:
            return from_midi(self.midi + semitones, max(FLATTEST, min(SHARPEST, self.fifths)))
        return Pitch(STEPS[letter], alter, octave)

    def shifted(self, octaves: int) -> Pitch:
        """The same spelling, `octaves` octaves higher (lower where negative)."""
        return Pitch(self.step, self.alter, self.octave + octaves)


def parse(name: str) -> Pitch:
    """Read "C4", "Bb3", "F#5", "Gx2".

    Raises:
        ValueError: where the text is no pitch name.
    """
    match = _NAME.match(name.strip())
    if not match:
        raise ValueError(f"{name!r} is no pitch name such as C4, Bb3 or F#5")
    step, accidental, octave = match.groups()
    alter = {"x": 2}.get(accidental, accidental.count("#") - accidental.count("b"))
    return Pitch(step.upper(), alter, int(octave))


def from_midi(number: int, near_fifths: int = 0) -> Pitch:
    """Spell a MIDI number by the name nearest to `near_fifths` on the line of fifths.

    Args:
        number: MIDI number.
        near_fifths: centre of the window of twelve names; a key with n sharps has its centre at n + 2
            (D in C major lies in the middle of the seven white keys).
    """
    fifths = number * 7 % 12
    fifths += 12 * round((near_fifths - fifths) / 12)
    alter, place = divmod(fifths + 1, 7)
    step = _SHARPS[place]
    octave = (number - alter - NATURAL[STEPS.index(step)]) // 12 - 1
    return Pitch(step, alter, octave)


def key_alters(fifths: int) -> dict[str, int]:
    """Letter -> alteration under a key signature (sharps positive)."""
    return {step: (fifths - place + 6) // 7 for place, step in enumerate(_SHARPS)}
