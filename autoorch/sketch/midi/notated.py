"""Notes of a MIDI file that comes from notation, on the exact places that its ticks stand for.

An onset that lies less than a tick (or a 500th of a quarter) from a plain fraction of a quarter is that fraction: a
triplet eighth is 1/3, not 341/1024. Any other stays where it is. Programs let go of a note a little early: an end that
lies on no plain place goes to the next onset of its track, or to the next plain place, where that lengthens the note by
an eighth of itself at most; what is left is a note as short as it was.
"""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction
from math import ceil

from autoorch.sketch.midi.take import Take

PLAIN = (1, 2, 3, 4, 6, 8, 12, 16, 24, 5, 10, 7, 14, 9, 18, 20, 28, 11, 13, 32, 48)
"""Parts of a quarter that notation uses, the likelier first."""
ENDS = (1, 2, 4, 3, 8, 6, 12)
"""Parts of a quarter at which notes end, the likelier first."""
RELEASE = Fraction(1, 8)
"""Share of a note by which it may be let go early (common defaults of notation programs: 0 to 10 %)."""
GRID = 24
"""Parts of a quarter on which the onsets of notation lie, 64th notes and odd tuplets apart."""
CLOSE = Fraction(1, 500)
"""Part of a quarter that no two places of notation are apart and no ear tells."""
NEAR = Fraction(1, 48)
"""Part of a quarter by which an end may miss its place at most; two ticks (one rounded, one early) where they are less."""
SHORTEST = Fraction(1, 24)


def off_grid(take: Take) -> Fraction:
    """Share of the onsets that lie off the 24th parts of a quarter."""
    starts = {note.start for note in take.notes}
    off = sum((_nearest(start, take.quarter, (GRID,)) * GRID).denominator != 1 for start in starts)
    return Fraction(off, len(starts))


def place_notated(take: Take) -> list[tuple[Fraction, Fraction]]:
    """(onset, length) of each note, in quarters."""
    onsets: list[list[int]] = [[] for _ in take.strands]
    for note in take.notes:
        if not onsets[note.strand] or onsets[note.strand][-1] != note.start:
            onsets[note.strand].append(note.start)
    exact: dict[int, Fraction] = {}

    def place(tick: int) -> Fraction:
        if tick not in exact:
            exact[tick] = _nearest(tick, take.quarter, PLAIN)
        return exact[tick]

    found = []
    for note in take.notes:
        start = place(note.start)
        others = onsets[note.strand]
        after = bisect_right(others, max(note.start, note.end - 1))
        following = place(others[after]) if after < len(others) else None
        end = _end(start, Fraction(note.end, take.quarter), min(Fraction(2, take.quarter), NEAR), following)
        found.append((start, max(end - start, SHORTEST)))
    return found


def _nearest(tick: int, quarter: int, parts: tuple[int, ...]) -> Fraction:
    """The plain place within a tick, the place itself where there is none."""
    here = Fraction(tick, quarter)
    if here.denominator in parts:
        return here
    slack = max(Fraction(1, quarter), CLOSE)
    for part in parts:
        near = Fraction(round(here * part), part)
        if abs(near - here) < slack:
            return near
    return here


def _end(start: Fraction, end: Fraction, slack: Fraction, following: Fraction | None) -> Fraction:
    if end.denominator in ENDS and end > start:
        return end
    for part in ENDS:
        near = Fraction(round(end * part), part)
        if abs(near - end) <= slack and near > start:
            return near
    if following is not None and abs(following - end) <= (following - start) * RELEASE:
        return following
    for part in ENDS:
        near = Fraction(ceil(end * part), part)
        if near - end <= (near - start) * RELEASE:
            return near
    return end
