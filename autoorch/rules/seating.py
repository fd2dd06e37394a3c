"""Ties broken the way a section sits: first chairs lead and lie higher, horns 1 and 3 high, 2 and 4 low."""

from __future__ import annotations

from collections.abc import Iterator

from autoorch.problem.data import ProblemData
from autoorch.problem.terms import Cost, Limit
from autoorch.rules.unary import alone

NAME = "seating"


def limits(data: ProblemData) -> Iterator[Limit]:
    """None."""
    return iter(())


def costs(data: ProblemData) -> Iterator[Cost]:
    """A few units an option, by seat and height."""
    table = data.tables.rule(NAME)
    weights, horns = table["weights"], list(table["horn_order"])
    for option in data.options:
        player = data.players[option.player]
        seat = max(0, player.number - 1)
        if player.instrument.id == "horn" and player.number in horns:
            seat = horns.index(player.number)
        weight = weights["height"] * seat * max(0, data.mean_pitch(option) // 12 - 3)
        if data.role(option) == "melody":
            weight += weights["first"] * seat
        if weight:
            yield alone(NAME, data, option, weight, "out of seating order")
