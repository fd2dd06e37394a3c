"""One search for the cheapest answer to a model: it goes on beyond its effort until it has any answer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ortools.sat.python import cp_model

from autoorch.cpsat import solver_for
from autoorch.solver.stop import Stop

NET, SPARE = 30.0, 5.0
"""Wall-clock seconds allowed for each deterministic second, and besides, before the net stops a window: a machine so busy that
it matters gives another draft, and that is told."""
PATIENCE = 16
"""So many times its effort a search may take that has no answer yet."""


@dataclass(frozen=True)
class Search:
    """A search that has ended.

    Attributes:
        solver: with its answer, if it has one.
        status: CP-SAT's.
        spent: deterministic time.
        hurried: stopped by the clock.
    """

    solver: cp_model.CpSolver
    status: Any
    spent: float
    hurried: bool

    @staticmethod
    def run(model: cp_model.CpModel, effort: float, gap: float, stop: Stop) -> Search:
        """Minimise, to a relative gap, with `effort` seconds of deterministic time."""
        solver = _netted(effort, gap)
        status = stop.run(solver, model)
        spent, hurried = float(solver.response_proto.deterministic_time), _hurried(solver)
        if status == cp_model.UNKNOWN:
            solver = _netted(PATIENCE * effort, gap)
            solver.parameters.stop_after_first_solution = True
            status = stop.run(solver, model)
            spent += float(solver.response_proto.deterministic_time)
            hurried = hurried or _hurried(solver)
        return Search(solver, status, spent, hurried)


def _netted(effort: float, gap: float) -> cp_model.CpSolver:
    solver = solver_for(effort, gap)
    solver.parameters.max_time_in_seconds = NET * effort + SPARE
    return solver


def _hurried(solver: cp_model.CpSolver) -> bool:
    return bool(solver.wall_time >= solver.parameters.max_time_in_seconds)
