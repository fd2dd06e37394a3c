"""Inner lines that can be counted: one division in each beat of a line, where two voices of the sketch, one in threes and one in
fives or fours, have become one line."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from math import lcm

from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand

INNER = ("inner", "figure", "rhythm", "counterline")
"""Roles whose notes may come a little sooner or later; tune and bass are as they are."""
Place = tuple[int, Fraction]
"""Start of a beat (ticks), and where in it (0 to 1)"""


def counted(cue: Cue, strands: Sequence[MaterialStrand]) -> tuple[MaterialStrand, ...]:
    """The strands, inner lines in one division a beat: that of most of its attacks; each other attack at the nearest free place
    of that division, or of its halves, and re-figured then."""
    return tuple(
        replace(strand, lines=tuple(_line(cue, line) for line in strand.lines)) if strand.role in INNER else strand
        for strand in strands
    )


def _line(cue: Cue, line: MaterialLine) -> MaterialLine:
    beats: dict[int, set[Fraction]] = defaultdict(set)
    for note in line.notes:
        start, place = _place(cue, note.onset)
        beats[start].add(place)
    moved = {
        start + int(place * beat): start + int(other * beat)
        for start, places in beats.items()
        if _mixed(places)
        for beat in (cue.beats(start, 1),)
        for place, other in _steadied(places, beat).items()
    }
    if not moved:
        return line
    notes: list[MaterialNote] = []
    for note in sorted(line.notes, key=lambda n: (moved.get(n.onset, n.onset), n.id)):
        onset = moved.get(note.onset, note.onset)
        if onset != note.onset:
            note = replace(note, id=f"{note.id}.counted", onset=onset, duration=max(1, note.end - onset))
        if notes and notes[-1].end > onset:
            notes[-1] = replace(notes[-1], duration=onset - notes[-1].onset)
        notes.append(note)
    return replace(line, notes=tuple(notes))


def _place(cue: Cue, tick: int) -> Place:
    beat = cue.beats(tick, 1)
    inside = (tick - cue.sketch.bar_at(tick).onset) % beat
    return tick - inside, Fraction(inside, beat)


def _odd(place: Fraction) -> int:
    """What divides the beat there besides halves."""
    return place.denominator // (place.denominator & -place.denominator)


def _mixed(places: Iterable[Fraction]) -> bool:
    """Nobody counts it: places of two odd divisions, or of one and of quarters; the halves of a beat that is struck in its middle
    are counted apart."""
    inside = {place for place in places if place}
    odd = {_odd(place) for place in inside} - {1}
    plain = {place.denominator for place in inside if _odd(place) == 1}
    if not odd or (len(odd) == 1 and not plain) or (odd == {3} and plain == {2}):
        return False
    half = Fraction(1, 2)
    if half not in inside:
        return True
    return _mixed(2 * p for p in inside if p < half) or _mixed(2 * p - 1 for p in inside if p > half)


def _steadied(places: Iterable[Fraction], beat: int) -> dict[Fraction, Fraction]:
    """Place -> where it goes instead, of those that are off the division of most, on the sketch's grid (ticks a beat)."""
    inside = sorted(place for place in places if place)
    counts = Counter(_odd(place) for place in inside)
    odd = min(counts, key=lambda o: (-counts[o], o))
    grid = lcm(*(place.denominator for place in inside if _odd(place) == odd))
    taken = {place for place in places if grid % place.denominator == 0}
    found: dict[Fraction, Fraction] = {}
    for place in inside:
        if place in taken:
            continue
        ways = ([Fraction(k, unit) for k in range(unit)] for unit in (grid, 2 * grid))
        free = [[way for way in some if way not in taken and beat % way.denominator == 0] for some in ways]
        if any(free):
            found[place] = min(next(filter(None, free)), key=lambda way: (abs(way - place), way))
            taken.add(found[place])
    return found
