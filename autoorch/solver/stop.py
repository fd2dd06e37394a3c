"""A wish to stop: the search under way ends with the best it has, and every later one with the first answer it finds."""

from __future__ import annotations

from typing import Any

from ortools.sat.python import cp_model


class Stop:
    """Asked from another thread or between two searches; asking twice is asking once."""

    def __init__(self) -> None:
        self.asked = False
        self._solver: cp_model.CpSolver | None = None

    def ask(self) -> None:
        """End the search under way, if any, and hurry all later ones."""
        self.asked = True
        solver = self._solver
        if solver is not None:
            solver.stop_search()

    def run(self, solver: cp_model.CpSolver, model: cp_model.CpModel) -> Any:
        """Solve; the status of CP-SAT. A search that is stopped before it has any answer goes on to its first one."""
        self._solver = solver
        try:
            solver.parameters.stop_after_first_solution = self.asked
            status = solver.solve(model)
            if status == cp_model.UNKNOWN and self.asked and not solver.parameters.stop_after_first_solution:
                solver.parameters.stop_after_first_solution = True
                status = solver.solve(model)
            return status
        finally:
            self._solver = None
