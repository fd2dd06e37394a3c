"""Why there is no draft: the smallest set of directions that can't hold together with what must hold anyway.

Deletion-based on a model without an objective: leave each direction out in turn; where the rest still fails it stays out.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from ortools.sat.python import cp_model

from autoorch.cpsat import solver_for
from autoorch.problem.data import ProblemData
from autoorch.problem.terms import Limit
from autoorch.solver.encode import Model

EFFORT = 5.0


def holds(data: ProblemData, limits: Sequence[Limit], first: int, last: int, chosen: Collection[int]) -> bool:
    """Some choice of options keeps all the limits in phrases first..last-1."""
    model = Model(data, first, last, chosen)
    for limit in limits:
        model.add_limit(limit)
    return bool(solver_for(EFFORT).solve(model.cp) in (cp_model.OPTIMAL, cp_model.FEASIBLE))


def core(data: ProblemData, limits: Sequence[Limit], first: int, last: int, chosen: Collection[int]) -> tuple[str, ...]:
    """Names of the directions in a smallest clashing set (none of them can be spared); () where they are not to blame."""
    asked = {wish.name for wish in data.wishes}
    names = sorted({limit.name for limit in limits} & asked)

    def without(left_out: Collection[str]) -> list[Limit]:
        return [limit for limit in limits if limit.name not in left_out]

    if not holds(data, without(names), first, last, chosen):
        return ()
    out: set[str] = set()
    for name in names:
        if not holds(data, without(out | {name}), first, last, chosen):
            out.add(name)
    return tuple(name for name in names if name not in out)
