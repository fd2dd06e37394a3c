"""Several drafts of one cue: asked for one after another, each unlike all before it and little dearer than the cheapest."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from autoorch.brief import LEADING, Brief
from autoorch.errors import NoDraft
from autoorch.pipeline import Result, set_up, solved
from autoorch.solver.asked import Asked
from autoorch.solver.solve import Limits, Progress
from autoorch.solver.vary import dearest, own_cost, tries, unlike


def several(count: int, first: Result, tell: Callable[[Progress], None] = lambda progress: None) -> list[Result]:
    """The first draft and up to `count` - 1 more that differ from all before them and from what the first differs from, and cost
    little more.

    Fewer come back where no more are to be had within the margins of constraints/drafts.toml. A draft led by another family
    may be so dear and so different that it leaves no room for more; then none of the kind is asked for, nor where bars are kept.
    """
    found = _several(count, first, {*LEADING} if first.asked.keep else {first.brief.leading}, tell)
    if len(found) == count or all(one.brief.leading == first.brief.leading for one in found):
        return found
    return max(found, _several(count, first, {*LEADING}, tell), key=len)


def _several(count: int, first: Result, used: set[str], tell: Callable[[Progress], None]) -> list[Result]:
    """As `several`; nobody of `used` is asked to lead."""
    found, tune = [first], 1.0
    before = first.asked.apart.drafts if first.asked.apart else ()
    while len(found) < count:
        most = dearest(first.problem, min((one.draft for one in found), key=own_cost))
        for brief, limits, moved in tries(first.problem, first.brief, first.limits, used, tune):
            kept = [(keep.passage.start, keep.passage.end) for keep in first.asked.keep]
            differ = unlike(first.problem.tables, [*before, *(one.draft.choices for one in found)], kept, moved)
            other = _other(first, brief, limits, replace(first.asked, apart=differ, near=None), most, tell)
            used = used | ({brief.leading} - {first.brief.leading})
            if other is None:
                continue
            all_of = [*found, other]
            cheapest = min((one.draft for one in all_of), key=own_cost)
            if all(own_cost(one.draft) <= dearest(first.problem, cheapest) for one in all_of):
                found, tune = all_of, moved
                break
        else:
            break
    return found


def _other(
    first: Result, brief: Brief, limits: Limits, asked: Asked, most: float, tell: Callable[[Progress], None]
) -> Result | None:
    """Another draft; None where there is none, or as soon as it costs more than `most`."""

    def watch(progress: Progress) -> None:
        tell(progress)
        if progress.cost > most:
            raise NoDraft("it costs too much already")

    tables = first.problem.tables
    same = brief == first.brief
    try:
        setting = first if same else set_up(first.sketch, first.reading, first.lineup, brief, asked, tables)
        return solved(setting, limits, asked, watch)
    except NoDraft:
        return None
