"""Entries after a long rest that carry no dynamic."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping
from typing import Any

from autoorch.check.find import Fault, state, whole
from autoorch.check.limits import Limits
from autoorch.check.model import Part, Score
from autoorch.check.report import Finding

_SAYS = {"dynamic", "accent", "wedge", "grow"}


def entries(score: Score, limits: Limits) -> Iterator[Finding]:
    """A part that enters after two bars' rest wants a dynamic; parts that enter together are one finding.

    A score without any dynamics has one finding in all.
    """
    table = limits.of("entries")
    if not any(mark.kind in _SAYS for part in score.parts for mark in part.marks):
        yield whole(
            score, "missing dynamic", "style", 0, "none", "1", table["source"], "no dynamics in the whole score"
        )
        return
    silent: dict[tuple[int, str], list[Part]] = {}
    for part in score.parts:
        for tick, what in _unmarked(part, score, table):
            silent.setdefault((tick, what), []).append(part)
    for (tick, what), parts in silent.items():
        names = ", ".join(part.name for part in parts)
        message = f"{names} {what} with no dynamic"
        fault = Fault(parts[0], tick, "style", "no mark", "a mark", message)
        yield from state(score, "missing dynamic", table["source"], [fault])


def _unmarked(part: Part, score: Score, table: Mapping[str, Any]) -> Iterator[tuple[int, str]]:
    """(tick, how) of the entries that nothing tells how loud they are."""
    ticks = [mark.tick for mark in part.marks if mark.kind in _SAYS]
    end, begun = 0, False
    for group in part.onsets:
        start = group[0].start
        rest = score.bar(start) - score.bar(end - 1) - 1 if begun else 0
        low, high = start - table["before"] * score.ticks, start + table["after"] * score.ticks
        said = bisect_right(ticks, high) - bisect_left(ticks, low) if begun else bisect_right(ticks, high)
        if not said and (rest >= table["bars"] or not begun):
            yield start, "after a long rest" if begun else "at the beginning"
        end, begun = max(end, *(note.end for note in group)), True


RULES = (entries,)
