"""Rhythm written as a row of signs: a cell that is repeated from each bar line, slot by slot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Any

from autoorch.layers.cue import Cue
from autoorch.sketch.model import Bar

HOLD, REST = "-", "."
_FINEST = 24
"""Denominator of the finest slot, in quarters."""


def whole_bars(cue: Cue, phrase: int) -> list[Bar]:
    """The bars of a phrase that are as long as their metre."""
    plan = cue.plan[phrase]
    return [
        bar
        for bar in cue.sketch.bars
        if plan.start <= bar.onset
        and bar.end <= plan.end
        and bar.length * bar.metre[1] == 4 * cue.sketch.ticks * bar.metre[0]
    ]


def slots(cue: Cue, bar: Bar, row: Mapping[str, Any], cuts: Sequence[int] = ()) -> list[tuple[int, int, str]]:
    """(onset, end, sign) of one bar; a slot of a whole bar (0) is cut at `cuts`; [] where the grid is too coarse.

    Args:
        row: slot in quarters, cell as signs with blanks between.
    """
    cell = row["cell"].split()
    if not row["slot"]:
        edges = sorted({bar.onset, bar.end, *(tick for tick in cuts if bar.onset < tick < bar.end)})
        return [(start, end, cell[0]) for start, end in pairwise(edges)]
    step = Fraction(row["slot"]).limit_denominator(_FINEST) * cue.sketch.ticks
    if step.denominator != 1 or bar.length % step:
        return []
    return [
        (tick, tick + int(step), cell[k % len(cell)]) for k, tick in enumerate(range(bar.onset, bar.end, int(step)))
    ]


def in_tempo(cue: Cue, phrase: int, row: Mapping[str, Any]) -> bool:
    """Metre, tempo (quarters a minute) and dynamic of the phrase are those of the row."""
    plan = cue.plan[phrase]
    beats, unit = cue.sketch.bar_at(plan.start).metre
    seconds = cue.seconds(plan.start, plan.end)
    quarters = 60 * (plan.end - plan.start) / cue.sketch.ticks / seconds if seconds else 0.0
    return (
        f"{beats}/{unit}" in row["metres"]
        and row["tempo"][0] <= quarters <= row["tempo"][1]
        and plan.dynamic in row["dynamics"]
    )
