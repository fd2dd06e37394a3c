"""Clefs by register: each staff takes the cheapest way through its player's clefs, ledger lines against changes, which come where
the player rests rather than under a slur.

Who reads which clefs stands in the table of instruments; the first one there is the usual one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from autoorch.pitch import parse
from autoorch.score.model import Measure, Part
from autoorch.score.notation import Notation

_MIDDLE = {clef: parse(name).diatonic for clef, name in {
    "treble": "B4", "bass": "D3", "alto": "C4", "tenor": "A3", "treble-8": "B3", "percussion": "B4",
}.items()}  # fmt: skip
"""Clef -> the letter on its middle line."""


def away(letter: int, clef: str) -> int:
    """Letters from the middle line up to a written letter (counted from C0)."""
    return letter - _MIDDLE[clef]


def set_clefs(part: Part, house: Notation) -> Part:
    """The part with the clefs that take force at each bar's start."""
    found: list[list[tuple[int, str]]] = [[] for _ in part.measures]
    for staff in range(1, part.staves + 1):
        last = ""
        for index, clef in enumerate(_way(_choices(part, staff), part.measures, staff, house)):
            if clef != last:
                found[index].append((staff, clef))
                last = clef
    measures = (replace(m, clefs=tuple(clefs)) for m, clefs in zip(part.measures, found, strict=True))
    return replace(part, measures=tuple(measures))


def _choices(part: Part, staff: int) -> tuple[str, ...]:
    """The clefs of one staff, the usual one first. At concert pitch low transposing instruments may need the bass clef."""
    clefs = part.player.instrument.clefs
    if part.staves == 2:
        return clefs if staff == 1 else clefs[::-1]
    if part.transposition != part.player.instrument.transposition and "bass" not in clefs:
        return (*clefs, "bass")
    return clefs


def _way(clefs: Sequence[str], measures: Sequence[Measure], staff: int, house: Notation) -> list[str]:
    """One clef a bar."""
    free, unusual = house.clefs["free_ledgers"], house.clefs["unusual"]
    if len(clefs) == 1:
        return [clefs[0]] * len(measures)
    total = [0.0 if k == 0 else float(house.clefs["change"]) for k in range(len(clefs))]
    back: list[list[int]] = []
    joined: set[int] = set()
    sounding = False
    for measure in measures:
        voices = [voice for voice, own in zip(measure.voices, measure.staff_of, strict=True) if own == staff]
        events = [event for voice in voices for event in voice if event.heads]
        letters = [head.written.diatonic for event in events for head in event.heads]
        tied = any(head.tie_stop for event in events if not event.onset for head in event.heads)
        rests = not sounding or not any(not event.onset for event in events)
        change = house.clefs["slurred" if joined or tied else "rested" if rests else "change"]
        for event in events:
            joined = (joined | set(event.slur_starts)) - set(event.slur_stops)
        sounding = any(voice[-1].heads for voice in voices if voice)
        came, reached = [], []
        for k, clef in enumerate(clefs):
            price = sum(_ledgers(away(letter, clef), free) for letter in letters) + unusual * k * len(letters)
            ways = [(total[j] + (change if j != k else 0), j == k, j) for j in range(len(clefs))]
            best = min(ways)
            came.append(best[2])
            reached.append(best[0] + price)
        back.append(came)
        total = reached
    place = min(range(len(clefs)), key=lambda k: (total[k], k))
    found = []
    for came in reversed(back):
        found.append(clefs[place])
        place = came[place]
    return found[::-1]


def _ledgers(away: int, free: int) -> int:
    """Cost of a note `away` letters from the middle line."""
    lines = (abs(away) - 4) // 2
    return (lines - free) ** 2 if lines > free else 0
