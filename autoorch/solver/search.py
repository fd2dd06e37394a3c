"""One search for the cheapest answer to a model: it goes on beyond its effort until it has any answer, and knows whether answers
were still getting cheaper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ortools.sat.python import cp_model

from autoorch.cpsat import solver_for
from autoorch.solver.stop import Stop

PATIENCE = 16
"""So many times its effort a search may take that has no answer yet."""


class _Found(cp_model.CpSolverSolutionCallback):  # type: ignore[misc]
    """The answers of one search: (conflicts so far, cost) of each."""

    def __init__(self) -> None:
        super().__init__()
        self.answers: list[tuple[int, float]] = []

    def on_solution_callback(self) -> None:
        self.answers.append((self.num_conflicts, self.objective_value))

    def late(self, solver: cp_model.CpSolver) -> int:
        """How much cheaper the answers became in the later half of the conflicts."""
        early = [cost for conflicts, cost in self.answers if 2 * conflicts <= solver.num_conflicts]
        return round(float((early or [cost for _, cost in self.answers[:1]])[-1] - solver.objective_value))


@dataclass(frozen=True)
class Search:
    """A search that has ended.

    Attributes:
        solver: with its answer, if it has one.
        status: CP-SAT's.
        spent: deterministic time.
        late: how much cheaper the answer became in the later half; all of its cost where it came late itself.
        hurried: stopped by the clock.
    """

    solver: cp_model.CpSolver
    status: Any
    spent: float
    late: int
    hurried: bool

    @staticmethod
    def run(model: cp_model.CpModel, effort: float, gap: float, stop: Stop) -> Search:
        """Minimise, to a relative gap, with `effort` seconds of deterministic time."""
        solver, found = solver_for(effort, gap), _Found()
        status = stop.run(solver, model, found)
        spent = float(solver.response_proto.deterministic_time)
        late = found.late(solver) if found.answers else 0
        if status == cp_model.UNKNOWN:
            solver, found = solver_for(PATIENCE * effort, gap), _Found()
            solver.parameters.stop_after_first_solution = True
            status = stop.run(solver, model, found)
            spent += float(solver.response_proto.deterministic_time)
            late = round(float(solver.objective_value)) if found.answers else 0
        hurried = solver.wall_time >= solver.parameters.max_time_in_seconds
        return Search(solver, status, spent, late, hurried)
