"""A second opinion: the same statements as a mixed-integer program for HiGHS, with an encoding of its own."""

from __future__ import annotations

import highspy
import numpy as np

from autoorch.problem.data import ProblemData
from autoorch.solver.statements import Statements


def optimum(data: ProblemData, statements: Statements, seconds: float = 60.0) -> int:
    """The least total cost of the whole problem as HiGHS finds it.

    Raises:
        AssertionError: where it does not prove an optimum in time.
    """
    cost, proven = best(data, statements, seconds)
    assert proven and cost is not None
    return cost


def best(data: ProblemData, statements: Statements, seconds: float) -> tuple[int | None, bool]:
    """(the least cost that HiGHS finds in so many seconds or None, whether it is proven to be the least)."""
    highs = highspy.Highs()
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("time_limit", seconds)
    highs.setOptionValue("mip_rel_gap", 0.0)
    infinity = highspy.kHighsInf
    columns: list[tuple[float, float, float, bool]] = [(0.0, 0.0, 1.0, True) for _ in data.options]
    group = {}
    rows: list[tuple[float, float, dict[int, float]]] = []
    for number, members in enumerate(data.groups.members, 1):
        group[-number] = len(columns)
        columns.append((0.0, 0.0, 1.0, False))
        for option in members:
            rows.append((0.0, infinity, {group[-number]: 1.0, option: -1.0}))
        rows.append((-infinity, 0.0, {group[-number]: 1.0, **dict.fromkeys(members, -1.0)}))

    def linear(terms: tuple[tuple[int, int], ...]) -> dict[int, float]:
        found: dict[int, float] = {}
        for literal, coef in terms:
            column = literal if literal >= 0 else group[literal]
            found[column] = found.get(column, 0.0) + coef
        return found

    for held in statements.limits:
        for limit in held:
            low = -infinity if limit.low is None else float(limit.low)
            high = infinity if limit.high is None else float(limit.high)
            rows.append((low, high, linear(limit.terms)))
    for phrase in statements.costs:
        for cost in phrase:
            slack = len(columns)
            columns.append((float(cost.weight), 0.0, infinity, False))
            for form in cost.forms:
                rows.append(
                    (float(form.constant), infinity, {slack: 1.0, **{k: -v for k, v in linear(form.terms).items()}})
                )
    for price, low, high, whole in columns:
        highs.addCol(price, low, high, 0, np.array([], dtype=np.int32), np.array([], dtype=np.float64))
        if whole:
            highs.changeColIntegrality(highs.getNumCol() - 1, highspy.HighsVarType.kInteger)
    for low, high, terms in rows:
        highs.addRow(low, high, len(terms), np.array(list(terms), dtype=np.int32), np.array(list(terms.values())))
    highs.run()
    value = highs.getInfo().objective_function_value
    cost = round(value) if abs(value) < infinity else None
    return cost, highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
