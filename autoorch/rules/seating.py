"""Ties broken the way a section sits: first chairs lead and lie higher, horns 1 and 3 high, 2 and 4 low."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import pairwise

from autoorch.lineup import Player
from autoorch.problem.data import Option, ProblemData
from autoorch.problem.terms import Cost, Form, Limit, both
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
        seat = _chair(player, horns)
        weight = weights["height"] * seat * max(0, data.mean_pitch(option) // 12 - 3)
        if data.role(option) == "melody":
            weight += weights["first"] * seat
        if data.strands[data.spans[option.span].strand].complete:
            weight += _in_choir(data, option, weights, seat)
        if weight:
            yield alone(NAME, data, option, weight, "out of seating order")
    yield from _passed_over(data, weights["passed_over"], horns)


def _passed_over(data: ProblemData, weight: int, horns: list[int]) -> Iterator[Cost]:
    """A wind or a string section has a tune that the one before it could have too and has not, or has it in a higher octave."""
    for span in data.spans:
        if not data.is_assigned(span.strand) or data.strands[span.strand].role != "melody":
            continue
        chairs: dict[str, dict[int, list[Option]]] = defaultdict(lambda: defaultdict(list))
        for option in data.by_span[span.index]:
            player = data.players[option.player]
            if player.number and player.instrument.kind in ("wind", "bowed") and not option.instrument:
                chairs[player.instrument.id][_chair(player, horns)].append(option)
        for seats in chairs.values():
            for first, second in pairwise(seats[chair] for chair in sorted(seats)):
                one, two = (data.groups.any(o.index for o in options) for options in (first, second))
                yield Cost(NAME, span.phrase, weight, (Form(((two, 1), (one, -1))),), "a tune that passes a chair over")
                for octave in sorted({o.octave for o in second}):
                    below = [o.index for o in first if o.octave < octave]
                    if below:
                        high = data.groups.any(o.index for o in second if o.octave == octave)
                        what = "the second chair has a tune above the first"
                        yield both(NAME, span.phrase, weight, high, data.groups.any(below), what)


def _chair(player: Player, horns: list[int]) -> int:
    """From 0: by number, and among horns 1, 3, 2, 4."""
    if player.instrument.id == "horn" and player.number in horns:
        return horns.index(player.number)
    return max(0, player.number - 1)


def _in_choir(data: ProblemData, option: Option, weights: Mapping[str, int], seat: int) -> int:
    """A set of chords keeps the natural order of its instruments from the top down, and of the chairs of each.

    Juxtaposed, overlapping and interlocked layouts are all within half the set of that order, and free; enclosing costs a little.
    """
    strand = data.strands[data.spans[option.span].strand]
    line, count = option.lines[0], len(strand.lines)
    cost = weights["chair"] * seat * (count - 1 - line)
    name = data.instrument(option).id
    if name in strand.families:
        last = len(strand.families) - 1
        ideal = line * last / max(1, count - 1)
        cost += round(weights["choir"] * max(0.0, abs(strand.families.index(name) - ideal) - last / 2))
    return cost
