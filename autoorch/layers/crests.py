"""Where a phrase grows: the place inside it from which the plan has more players join."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from autoorch.instruments import DYNAMICS
from autoorch.layers.model import Crest
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch.model import Sketch


def find_crests(sketch: Sketch, reading: Reading, table: Mapping[str, Any]) -> list[Crest | None]:
    """For each phrase where it comes to its loudest mark, else the middle of a crescendo that leads into a louder phrase.

    Their weights are 0 here; the plan sets them.

    Args:
        table: [crest] of constraints/plan.toml.
    """
    found: list[Crest | None] = []
    for phrase, after in pairwise((*reading.phrases, None)):
        assert phrase is not None
        growth = _marked(sketch, phrase, table) or (_leading(sketch, phrase, after, table) if after else None)
        found.append(growth if growth and _room(sketch, phrase, growth.start, table["least_bars"]) else None)
    return found


def _marked(sketch: Sketch, phrase: Phrase, table: Mapping[str, Any]) -> Crest | None:
    """The first of the loudest marks inside the phrase, where it is so much louder than the beginning and loud in itself."""
    inside = [
        (DYNAMICS.index(mark.value), mark.onset)
        for mark in sketch.marks
        if mark.kind == "dynamic" and mark.value in DYNAMICS and phrase.start < mark.onset < phrase.end
    ]
    if not inside:
        return None
    level, start = max(inside, key=lambda one: (one[0], -one[1]))
    louder = level - DYNAMICS.index(phrase.dynamic) >= table["steps"]
    return Crest(start, DYNAMICS[level], 0.0) if louder and level >= DYNAMICS.index(table["from"]) else None


def _leading(sketch: Sketch, phrase: Phrase, after: Phrase, table: Mapping[str, Any]) -> Crest | None:
    """The bar in the middle of a crescendo that lasts to the end of the phrase, half of the way up."""
    own, goal = DYNAMICS.index(phrase.dynamic), DYNAMICS.index(after.dynamic)
    if goal - own <= table["steps"] or goal < DYNAMICS.index(table["from"]):
        return None
    last = sketch.bar_at(phrase.end - 1)
    for mark in sketch.marks:
        rises = mark.kind == "wedge" and mark.value == "crescendo" and phrase.start <= mark.onset < phrase.end
        if rises and mark.end >= last.onset:
            middle = sketch.bar_at((mark.onset + min(mark.end, phrase.end)) // 2)
            return Crest(middle.onset, DYNAMICS[(own + goal) // 2], 0.0)
    return None


def _room(sketch: Sketch, phrase: Phrase, tick: int, bars: float) -> bool:
    """Before and after it there is room for players to come in and to stay."""
    return min(tick - phrase.start, phrase.end - tick) >= bars * sketch.bar_at(tick).length
