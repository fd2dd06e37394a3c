"""A wish to stop: the search under way ends with the best it has, and every later one with the first answer it finds."""

from __future__ import annotations

from typing import Any

from ortools.sat.python import cp_model


class Stop:
    """Asked from another thread or between two searches, of which several may run; asking twice is asking once."""

    def __init__(self) -> None:
        self.asked = False
        self._running: list[cp_model.CpSolver] = []

    def ask(self) -> None:
        """End the searches under way, if any, and hurry all later ones."""
        self.asked = True
        for solver in tuple(self._running):
            solver.stop_search()

    def run(self, solver: cp_model.CpSolver, model: cp_model.CpModel) -> Any:
        """Solve; the status of CP-SAT.

        A search that is stopped before it has any answer goes on to its first one.
        """
        self._running.append(solver)
        try:
            solver.parameters.stop_after_first_solution |= self.asked
            status = solver.solve(model)
            if status == cp_model.UNKNOWN and self.asked and not solver.parameters.stop_after_first_solution:
                solver.parameters.stop_after_first_solution = True
                status = solver.solve(model)
            return status
        finally:
            self._running.remove(solver)
