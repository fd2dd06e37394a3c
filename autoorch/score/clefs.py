"""Clefs by register: each staff takes the cheapest way through its player's clefs, ledger lines against changes.

Who reads which clefs stands in the table of instruments; the first one there is the usual one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from autoorch.pitch import parse
from autoorch.score.model import Measure, Part

_MIDDLE = {clef: parse(name).diatonic for clef, name in {
    "treble": "B4", "bass": "D3", "alto": "C4", "tenor": "A3", "treble-8": "B3", "percussion": "B4",
}.items()}  # fmt: skip
"""Clef -> the letter on its middle line."""

CHANGE = 8
"""A change of clef costs as much as two notes on four ledger lines."""
FREE = 2
"""Ledger lines that cost nothing."""
UNUSUAL = 0.75
"""Cost of each note in a player's second clef; twice that in the third."""


def set_clefs(part: Part) -> Part:
    """The part with the clefs that take force at each bar's start."""
    found: list[list[tuple[int, str]]] = [[] for _ in part.measures]
    for staff in range(1, part.staves + 1):
        last = ""
        for index, clef in enumerate(_way(_choices(part, staff), part.measures, staff)):
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


def _way(clefs: Sequence[str], measures: Sequence[Measure], staff: int) -> list[str]:
    """One clef a bar."""
    if len(clefs) == 1:
        return [clefs[0]] * len(measures)
    total = [0.0 if k == 0 else float(CHANGE) for k in range(len(clefs))]
    back: list[list[int]] = []
    for measure in measures:
        letters = [
            head.written.diatonic
            for voice, own in zip(measure.voices, measure.staff_of, strict=True)
            if own == staff
            for event in voice
            for head in event.heads
        ]
        came, reached = [], []
        for k, clef in enumerate(clefs):
            price = sum(_ledgers(letter - _MIDDLE[clef]) for letter in letters) + UNUSUAL * k * len(letters)
            ways = [(total[j] + (CHANGE if j != k else 0), j == k, j) for j in range(len(clefs))]
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


def _ledgers(away: int) -> int:
    """Cost of a note `away` letters from the middle line."""
    lines = (abs(away) - 4) // 2
    return (lines - FREE) ** 2 if lines > FREE else 0
