"""Where a phrase grows or falls inside: its dynamics as they settle, and the places from which the plan is another there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from autoorch.instruments import DYNAMICS
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch.model import Sketch

Level = tuple[int, int]
"""(tick, index into DYNAMICS) from which a dynamic holds."""


def find_levels(sketch: Sketch, reading: Reading, table: Mapping[str, Any]) -> list[tuple[Level, ...]]:
    """For each phrase the dynamics that it has, the first from its start; those after it are its turns.

    Marks inside it count, and the middle of a hairpin that leads into the next phrase; what lasts less than `least_bars` does
    not, nor a step between two soft dynamics.

    Args:
        table: [turn] of constraints/plan.toml.
    """
    found = []
    for phrase, after in pairwise((*reading.phrases, None)):
        assert phrase is not None
        levels = _marked(sketch, phrase)
        if after is not None:
            levels += _leading(sketch, phrase, levels[-1], DYNAMICS.index(after.dynamic))
        levels = _settled(sketch, levels, phrase.end, table["least_bars"])
        found.append(_that_matter(levels, phrase.end, table))
    return found


def _marked(sketch: Sketch, phrase: Phrase) -> list[Level]:
    """The phrase's own dynamic, and the loudest mark at each place inside it."""
    marks: dict[int, int] = {}
    for mark in sketch.marks:
        if mark.kind == "dynamic" and mark.value in DYNAMICS and phrase.start < mark.onset < phrase.end:
            marks[mark.onset] = max(marks.get(mark.onset, 0), DYNAMICS.index(mark.value))
    return [(phrase.start, DYNAMICS.index(phrase.dynamic)), *sorted(marks.items())]


def _leading(sketch: Sketch, phrase: Phrase, last: Level, goal: int) -> list[Level]:
    """The bar in the middle of a hairpin that lasts to the end of the phrase, half of the way to what comes after it; () where it
    does not reach over bars."""
    kind = "crescendo" if goal > last[1] else "diminuendo"
    for mark in sketch.marks:
        inside = mark.kind == "wedge" and mark.value == kind and last[0] <= mark.onset < phrase.end
        if inside and mark.end >= sketch.bar_at(phrase.end - 1).onset:
            middle = sketch.bar_at((mark.onset + min(mark.end, phrase.end)) // 2).onset
            return [(middle, (last[1] + goal) // 2)] if middle > mark.onset else []
    return []


def _settled(sketch: Sketch, levels: Sequence[Level], end: int, bars: float) -> list[Level]:
    """Without what lasts less than so many bars; a phrase is from its start what it soon comes to."""
    levels = [levels[0], *(after for before, after in pairwise(levels) if after[1] != before[1])]
    edges = [tick for tick, _ in levels] + [end]
    start = levels[0][0]
    lasting: list[Level] = []
    for (tick, level), after in zip(levels, edges[1:], strict=True):
        if after - tick >= bars * sketch.bar_at(tick).length:
            lasting.append((tick if lasting else start, level))
    return lasting or [levels[0]]


def _that_matter(levels: Sequence[Level], end: int, table: Mapping[str, Any]) -> tuple[Level, ...]:
    """Without small steps; where there are too many turns the shortest go first."""
    loud = DYNAMICS.index(table["from"])
    kept = [levels[0]]
    for tick, level in levels[1:]:
        step = abs(level - kept[-1][1])
        if step >= table["sudden"] or (step >= table["steps"] and max(level, kept[-1][1]) >= loud):
            kept.append((tick, level))
    while len(kept) > 1 + table["most"]:
        edges = [tick for tick, _ in kept] + [end]
        shortest = min(range(1, len(kept)), key=lambda k: (edges[k + 1] - edges[k], k))
        kept = list(_that_matter([*kept[:shortest], *kept[shortest + 1 :]], end, table))
    return tuple(kept)
