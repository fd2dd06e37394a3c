"""Ties broken the way a section sits: first chairs lead and lie higher, horns 1 and 3 high, 2 and 4 low."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from autoorch.problem.data import Option, ProblemData
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
        if data.strands[data.spans[option.span].strand].complete:
            weight += _in_choir(data, option, weights, seat)
        if weight:
            yield alone(NAME, data, option, weight, "out of seating order")


def _in_choir(data: ProblemData, option: Option, weights: Mapping[str, int], seat: int) -> int:
    """A set of chords keeps the natural order of its instruments from the top down, and of the chairs of each.

    Juxtaposed, overlapping and interlocked layouts are all within one place of that order, and free; enclosing costs a little.
    """
    strand = data.strands[data.spans[option.span].strand]
    line, count = option.lines[0], len(strand.lines)
    cost = weights["chair"] * seat * (count - 1 - line)
    name = data.instrument(option).id
    if name in strand.families:
        ideal = line * len(strand.families) / count
        cost += round(weights["choir"] * max(0.0, abs(strand.families.index(name) - ideal) - 1))
    return cost
