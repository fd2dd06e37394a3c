"""Costs that hang on one option alone, the commonest kind."""

from __future__ import annotations

from autoorch.problem.data import Option, ProblemData
from autoorch.problem.terms import Cost, Form


def alone(rule: str, data: ProblemData, option: Option, weight: int, what: str) -> Cost:
    """`weight` where the option is taken."""
    return Cost(rule, data.phrase(option), weight, (Form(((option.index, 1),)),), what)
