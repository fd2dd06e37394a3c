"""A search beyond its effort."""

from __future__ import annotations

import math
import random

import pytest
from ortools.sat.python import cp_model

from autoorch.cpsat import solver_for
from autoorch.solver import search
from autoorch.solver.search import Search
from autoorch.solver.stop import Stop


def hard() -> cp_model.CpModel:
    """Exact sums over the same switches: not even one answer comes at once."""
    chance, model = random.Random(3), cp_model.CpModel()
    switches = [model.new_bool_var(f"s{k}") for k in range(30)]
    hidden = [chance.random() < 0.5 for _ in switches]
    for _ in range(2):
        weights = [chance.randint(1, 500) for _ in switches]
        total = sum(weight for weight, on in zip(weights, hidden, strict=True) if on)
        model.add(cp_model.LinearExpr.weighted_sum(switches, weights) == total)
    model.minimize(cp_model.LinearExpr.weighted_sum(switches, [chance.randint(1, 9) for _ in switches]))
    return model


def test_a_search_without_any_answer_goes_on_to_its_first_one() -> None:
    model, effort = hard(), 0.02
    assert solver_for(effort).solve(model) == cp_model.UNKNOWN
    found = Search.run(model, effort, 0.0, Stop())
    assert found.status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    assert found.spent > effort


def test_a_search_that_is_done_at_once_has_the_cheapest_answer() -> None:
    model = cp_model.CpModel()
    model.minimize(model.new_int_var(2, 9, "one"))
    found = Search.run(model, 1, 0.0, Stop())
    assert (found.status, found.solver.objective_value, found.hurried) == (cp_model.OPTIMAL, 2, False)


def test_only_a_search_that_can_tell_is_ended_by_the_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan or a composed line can't say that it was hurried, so nothing hurries it."""
    assert solver_for(0.02).parameters.max_time_in_seconds == math.inf
    monkeypatch.setattr(search, "NET", 0.0)
    monkeypatch.setattr(search, "SPARE", 0.0)
    assert Search.run(hard(), 0.02, 0.0, Stop()).hurried
