"""All limits and costs of all rules, sorted by the phrase they are booked to, so that a window takes what is its own."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from operator import add
from typing import TypeVar

from autoorch.problem.data import ProblemData
from autoorch.problem.terms import Cost, Limit
from autoorch.rules import RULES, Rule, Said, say
from autoorch.rules.directions import shortfalls

REACH = 4
"""Phrases over which almost all of what the rules say reaches: the longest is the windows of breathing."""
GIVE_WAY = ("third heard/", "tendency note heard/", "melody doubling heard/", "lowest note heard/")


@dataclass(frozen=True)
class Statements:
    """What each rule has `said`, in their order; limits[p], costs[p] and shortfalls[p] (of soft directions, minimised first)
    are those of phrase p.

    `soft` names the limits that give way where a line-up is too small for them; `asked` those that are somebody's wish: the
    directions, and what one solve is asked besides.
    """

    said: tuple[Said, ...]
    limits: tuple[tuple[Limit, ...], ...]
    costs: tuple[tuple[Cost, ...], ...]
    shortfalls: tuple[tuple[Cost, ...], ...]
    soft: frozenset[str]
    asked: frozenset[str]

    def without(self, names: Collection[str]) -> Statements:
        """The same with some limits left out."""
        limits = tuple(tuple(limit for limit in phrase if limit.name not in names) for phrase in self.limits)
        return replace(self, limits=limits)

    def joined(self, data: ProblemData, first: int, last: int) -> Statements:
        """The same, but what is booked to phrases first..last-1 and touches earlier ones too is booked to the phrase before
        them, so that they can be decided first."""
        return replace(
            self,
            limits=_moved(data, self.limits, first, last),
            costs=_moved(data, self.costs, first, last),
            shortfalls=_moved(data, self.shortfalls, first, last),
        )

    def shared(self, data: ProblemData, first: int) -> int:
        """Weights of what is booked to phrase `first` or soon after and touches earlier phrases: how much is decided anew
        where a chain begins with it."""
        rows = self.costs[first : first + REACH]
        return sum(cost.weight for row in rows for cost in row if _crosses(data, cost, first))


_Said = TypeVar("_Said", Limit, Cost)


def _moved(
    data: ProblemData, rows: tuple[tuple[_Said, ...], ...], first: int, last: int
) -> tuple[tuple[_Said, ...], ...]:
    """What is booked to phrases first..last-1 and touches earlier ones, booked to the phrase before them."""
    inside = [[(one, _crosses(data, one, first)) for one in row] for row in rows[first:last]]
    found = list(rows)
    found[first - 1] += tuple(replace(one, phrase=first - 1) for row in inside for one, crosses in row if crosses)
    found[first:last] = [tuple(one for one, crosses in row if not crosses) for row in inside]
    return tuple(found)


def _crosses(data: ProblemData, said: Limit | Cost, first: int) -> bool:
    forms = (said.terms,) if isinstance(said, Limit) else tuple(form.terms for form in said.forms)
    literals = {literal for terms in forms for literal, _ in terms}
    return any(data.phrase(data.options[o]) < first for literal in literals for o in data.groups.options(literal))


def settled(limits: Iterable[Limit]) -> dict[int, bool]:
    """Options that single limits leave no choice about -> whether they are taken: those of which all must count."""
    found: dict[int, bool] = {}
    for limit in limits:
        if limit.low is not None and limit.low == sum(coef for _, coef in limit.terms if coef > 0):
            found |= {literal: coef > 0 for literal, coef in limit.terms if literal >= 0}
    return found


def gather(data: ProblemData, rules: Sequence[Rule] = RULES, given: Statements | None = None) -> Statements:
    """Everything the rules say about a problem, with what is `given` already."""
    said = tuple(say(rule, data) for rule in rules)
    asked = {limit.name for rule, own in zip(rules, said, strict=True) if rule not in RULES for limit in own.limits}
    directed = _by_phrase(data, shortfalls(data)) if given is None else ()
    given = given or Statements((), ((),) * len(data.plan), ((),) * len(data.plan), directed, frozenset(), frozenset())
    limits = [limit for own in said for limit in own.limits]
    return replace(
        given,
        said=given.said + said,
        limits=tuple(map(add, given.limits, _by_phrase(data, limits))),
        costs=tuple(map(add, given.costs, _by_phrase(data, (cost for own in said for cost in own.costs)))),
        soft=given.soft | {limit.name for limit in limits if limit.name.startswith(GIVE_WAY)},
        asked=given.asked | asked | {wish.name for wish in data.wishes},
    )


def _by_phrase(data: ProblemData, said: Iterable[_Said]) -> tuple[tuple[_Said, ...], ...]:
    """What is booked to each phrase of the plan."""
    found: list[list[_Said]] = [[] for _ in data.plan]
    for one in said:
        found[one.phrase].append(one)
    return tuple(map(tuple, found))
