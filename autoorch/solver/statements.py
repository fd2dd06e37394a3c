"""All limits and costs of all rules, sorted by the phrase they are booked to, so that a window takes what is its own."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from autoorch.problem.data import ProblemData
from autoorch.problem.terms import Cost, Limit
from autoorch.rules import RULES, Rule
from autoorch.rules.directions import shortfalls

GIVE_WAY = ("third heard/", "tendency note heard/", "melody doubling heard/", "lowest note heard/")


@dataclass(frozen=True)
class Statements:
    """limits[p], costs[p] and shortfalls[p] (of soft directions, minimised first) are those of phrase p.

    `soft` names the limits that give way where a line-up is too small for them; `asked` those that are somebody's wish: the
    directions, and what one solve is asked besides.
    """

    limits: tuple[tuple[Limit, ...], ...]
    costs: tuple[tuple[Cost, ...], ...]
    shortfalls: tuple[tuple[Cost, ...], ...]
    soft: frozenset[str]
    asked: frozenset[str] = frozenset()

    def without(self, names: Collection[str]) -> Statements:
        """The same with some limits left out."""
        limits = tuple(tuple(limit for limit in phrase if limit.name not in names) for phrase in self.limits)
        return replace(self, limits=limits)


def gather(data: ProblemData, rules: Sequence[Rule] = RULES) -> Statements:
    """Everything the rules say about a problem."""
    limits: list[list[Limit]] = [[] for _ in data.plan]
    costs: list[list[Cost]] = [[] for _ in data.plan]
    asked = {wish.name for wish in data.wishes}
    for rule in rules:
        for limit in rule.limits(data):
            limits[limit.phrase].append(limit)
            if rule not in RULES:
                asked.add(limit.name)
        for cost in rule.costs(data):
            costs[cost.phrase].append(cost)
    soft = {limit.name for phrase in limits for limit in phrase if limit.name.startswith(GIVE_WAY)}
    directed: list[list[Cost]] = [[] for _ in data.plan]
    for cost in shortfalls(data):
        directed[cost.phrase].append(cost)
    return Statements(
        tuple(map(tuple, limits)),
        tuple(map(tuple, costs)),
        tuple(map(tuple, directed)),
        frozenset(soft),
        frozenset(asked),
    )
