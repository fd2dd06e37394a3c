"""Entries after a long rest that carry no dynamic."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator

from autoorch.check.find import Fault, state, whole
from autoorch.check.limits import Limits
from autoorch.check.model import Score
from autoorch.check.report import Finding

_SAYS = {"dynamic", "accent", "wedge", "grow"}


def entries(score: Score, limits: Limits) -> Iterator[Finding]:
    """A part that enters after two bars' rest wants a dynamic; a score without any has one finding in all."""
    table = limits.of("entries")
    if not any(mark.kind in _SAYS for part in score.parts for mark in part.marks):
        yield whole(
            score, "missing dynamic", "style", 0, "none", "1", table["source"], "no dynamics in the whole score"
        )
        return
    for part in score.parts:
        ticks = [mark.tick for mark in part.marks if mark.kind in _SAYS]
        faults = []
        end, begun = 0, False
        for group in part.onsets:
            start = group[0].start
            first = score.bar(start)
            rest = start - end
            silent = first - score.bar(max(0, end - 1)) - 1 if begun else first
            if rest and (silent >= table["bars"] or not begun):
                low, high = start - table["before"] * score.ticks, start + table["after"] * score.ticks
                if bisect_right(ticks, high) == bisect_left(ticks, low):
                    what = f"enters after {silent} bars' rest" if begun else "begins"
                    faults.append(Fault(part, start, "style", "no mark", "a mark", f"{what} with no dynamic"))
            elif not begun and bisect_right(ticks, start + table["after"] * score.ticks) == 0:
                faults.append(Fault(part, start, "style", "no mark", "a mark", "begins with no dynamic"))
            end, begun = max(end, *(note.end for note in group)), True
        yield from state(score, "missing dynamic", table["source"], faults)


RULES = (entries,)
