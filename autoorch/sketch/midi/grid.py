"""MIDI times on an exact grid: kept where they lie on one already, moved to the nearest value where they were played in."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import floor

from autoorch.sketch.midi.events import Sound

NOTATED = frozenset({*range(1, 17), 20, 24, 28, 32, 40, 48, 64})
"""Denominators of notated places in quarters: all up to 16, and the finer ones of common tuplets."""
SHARE = 0.9
"""A file is notated where so many of its attacks lie on such places."""
FINE = 24
STRAIGHT, TRIPLET = 4, 3

Placed = tuple[Fraction, Fraction]


def is_played(sounds: Sequence[Sound], division: int) -> bool:
    """Whether too few attacks lie on notated places."""
    on = sum(Fraction(sound.start, division).denominator in NOTATED for sound in sounds)
    return on < SHARE * len(sounds)


def notated(sounds: Sequence[Sound], division: int) -> list[Placed]:
    """(onset, length) in quarters: attacks as they stand; a release that lies on no notated place goes to the nearest 24th."""
    found = []
    for sound in sounds:
        start, end = Fraction(sound.start, division), Fraction(sound.end, division)
        if end.denominator not in NOTATED:
            end = max(Fraction(round(end * FINE), FINE), start + Fraction(1, FINE))
        found.append((start, end - start))
    return found


def played(sounds: Sequence[Sound], division: int) -> list[Placed]:
    """(onset, length) in quarters, each attack at the nearest sixteenth or triplet, whichever its beat fits better."""
    by_beat: dict[int, list[Fraction]] = {}
    for sound in sounds:
        place = Fraction(sound.start, division)
        by_beat.setdefault(floor(place), []).append(place)
    parts = {}
    for beat, places in by_beat.items():
        errors = {n: sum(abs(place - Fraction(round(place * n), n)) for place in places) for n in (STRAIGHT, TRIPLET)}
        parts[beat] = STRAIGHT if errors[STRAIGHT] <= errors[TRIPLET] else TRIPLET
    found = []
    for sound in sounds:
        start, end = Fraction(sound.start, division), Fraction(sound.end, division)
        unit = parts[floor(start)]
        onset = Fraction(round(start * unit), unit)
        last = Fraction(round(end * parts.get(floor(end), unit)), parts.get(floor(end), unit))
        found.append((onset, max(last - onset, Fraction(1, unit))))
    return found
