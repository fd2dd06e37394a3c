"""Where notes end that no attack follows: on the division of the attacks in the beat, where these are in another one."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from math import gcd, lcm

from autoorch.score.streams import Grid, Played


def released(notes: Sequence[Played], grid: Grid) -> tuple[Played, ...]:
    """The notes of one player, by onset, those whose end alone would ask for another division of its beat than the attacks there
    (fives among threes) ended a bit sooner or later, at the nearest place of theirs. What is tied to the next attack stays.
    """
    attacks = sorted({note.onset for note in notes})
    return tuple(replace(note, end=end) if (end := _end(note, attacks, grid)) != note.end else note for note in notes)


def _end(note: Played, attacks: Sequence[int], grid: Grid) -> int:
    beat = grid.beat_at(note.end - 1)
    start = note.end - (note.end - grid.bar_at(note.end - 1).onset) % beat
    after = bisect_left(attacks, note.end)
    if start == note.end or (after < len(attacks) and attacks[after] == note.end):
        return note.end
    inside = attacks[bisect_left(attacks, start) : bisect_left(attacks, start + beat)]
    places = [Fraction(tick - start, beat) for tick in inside]
    own, division = _odd(Fraction(note.end - start, beat)), lcm(*(place.denominator for place in places), 1)
    odd = _odd(Fraction(1, division))
    while (shared := gcd(own, odd)) > 1:
        own //= shared
    if own == 1 or odd == 1:
        return note.end
    step = Fraction(beat, division)
    least = max(note.onset, start)
    most = min(start + beat, attacks[after] if after < len(attacks) else start + beat)
    ways = [end for k in range(1, beat) if least < (end := start + step * k) <= most and end.denominator == 1]
    return int(min(ways, key=lambda end: (abs(end - note.end), -end), default=note.end))


def _odd(place: Fraction) -> int:
    """What divides the beat there besides halves."""
    return place.denominator // (place.denominator & -place.denominator)
