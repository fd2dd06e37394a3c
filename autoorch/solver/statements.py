"""All limits and costs of all rules, sorted by the phrase they are booked to, so that a window takes what is its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from autoorch.problem.data import ProblemData
from autoorch.problem.terms import Cost, Limit
from autoorch.rules import RULES, Rule


@dataclass(frozen=True)
class Statements:
    """limits[p] and costs[p] are those of phrase p."""

    limits: tuple[tuple[Limit, ...], ...]
    costs: tuple[tuple[Cost, ...], ...]


def gather(data: ProblemData, rules: Sequence[Rule] = RULES) -> Statements:
    """Everything the rules say about a problem."""
    limits: list[list[Limit]] = [[] for _ in data.plan]
    costs: list[list[Cost]] = [[] for _ in data.plan]
    for rule in rules:
        for limit in rule.limits(data):
            limits[limit.phrase].append(limit)
        for cost in rule.costs(data):
            costs[cost.phrase].append(cost)
    return Statements(tuple(map(tuple, limits)), tuple(map(tuple, costs)))
