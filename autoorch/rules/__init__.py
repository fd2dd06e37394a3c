"""The rules of the craft, one family a module. Each states hard limits and soft costs over options, once.

The solver encodes what the rules state; `check` evaluates the same statements on a finished draft in plain Python. That
both come to the same sum on every piece is what makes either believable.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Protocol

from autoorch.problem.data import ProblemData
from autoorch.problem.terms import Cost, Form, Groups, Limit
from autoorch.rules import (
    balance,
    continuity,
    coverage,
    directions,
    doubling,
    idiom,
    imitation,
    plan,
    playability,
    registers,
    seating,
    spacing,
    techniques,
    texture,
    voice_leading,
)


class Rule(Protocol):
    """A rule family: a module with a name and what it forbids and what it charges."""

    @property
    def NAME(self) -> str: ...

    def limits(self, data: ProblemData) -> Iterator[Limit]: ...

    def costs(self, data: ProblemData) -> Iterator[Cost]: ...


RULES: tuple[Rule, ...] = (
    plan,
    registers,
    idiom,
    doubling,
    balance,
    imitation,
    spacing,
    voice_leading,
    playability,
    continuity,
    techniques,
    texture,
    coverage,
    directions,
    seating,
)


@dataclass(frozen=True, slots=True)
class Finding:
    """A cost that a draft pays, or a limit that it breaks: where, what, how much."""

    rule: str
    phrase: int
    what: str
    cost: int


@dataclass(frozen=True, slots=True)
class RuleReport:
    """One rule against one draft: `len(findings)` of `total` statements cost something; `broken` limits do not hold."""

    rule: str
    findings: tuple[Finding, ...]
    broken: tuple[str, ...]
    total: int
    cost: int


def value(form: Form, groups: Groups, chosen: Collection[int]) -> int:
    """The form's value where exactly the options in `chosen` are taken."""
    return form.constant + sum(coef for literal, coef in form.terms if groups.holds(literal, chosen))


def price(cost: Cost, groups: Groups, chosen: Collection[int]) -> int:
    """What a draft pays for one cost."""
    return cost.weight * max(0, *(value(form, groups, chosen) for form in cost.forms))


@dataclass(frozen=True, slots=True)
class Said:
    """All that one rule says of a problem."""

    rule: str
    limits: tuple[Limit, ...]
    costs: tuple[Cost, ...]


def say(rule: Rule, data: ProblemData) -> Said:
    """What a rule says of a problem, to be encoded and to be checked."""
    return Said(rule.NAME, tuple(rule.limits(data)), tuple(rule.costs(data)))


def check(said: Said, groups: Groups, chosen: Collection[int]) -> RuleReport:
    """Check what a rule has said on the chosen options, without a solver."""
    findings = []
    for cost in said.costs:
        paid = price(cost, groups, chosen)
        if paid:
            findings.append(Finding(said.rule, cost.phrase, cost.what, paid))
    broken = []
    for limit in said.limits:
        amount = sum(coef for literal, coef in limit.terms if groups.holds(literal, chosen))
        if (limit.low is not None and amount < limit.low) or (limit.high is not None and amount > limit.high):
            broken.append(limit.name)
    total = len(said.costs) + len(said.limits)
    return RuleReport(said.rule, tuple(findings), tuple(broken), total, sum(f.cost for f in findings))


def report(rule: Rule, data: ProblemData, chosen: Collection[int]) -> RuleReport:
    """Check one rule on the chosen options."""
    return check(say(rule, data), data.groups, chosen)
