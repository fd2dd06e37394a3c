"""Who is at home in which role, and who was asked for by the sketch's own staff names."""

from __future__ import annotations

from collections.abc import Iterator

from autoorch.lineup import resolve
from autoorch.problem.data import ProblemData
from autoorch.problem.terms import Cost, Limit
from autoorch.roles.model import ROLES
from autoorch.roles.patterns import BROKEN
from autoorch.rules.texture import COUNTED
from autoorch.rules.unary import alone

NAME = "idiom"
LEADING = {"strings": ("strings",), "winds": ("woodwind",), "brass": ("brass",)}


def limits(data: ProblemData) -> Iterator[Limit]:
    """None: being out of place is never forbidden, only dear."""
    return iter(())


def costs(data: ProblemData) -> Iterator[Cost]:
    """One cost an option: its role's step, times the length of the span."""
    table = data.tables.rule(NAME)
    wanted = {
        index: {player.name for player in resolve(data.lineup, strand.hint)}
        for index, strand in enumerate(data.strands)
        if strand.hint
    }
    for option in data.options:
        span = data.spans[option.span]
        if data.strands[span.strand].families:
            continue
        steps = table["roles"][data.instrument(option).id]
        step = steps[ROLES.index(data.role(option))]
        if data.dynamic(option) in table["all_in"] and data.instrument(option).family in COUNTED:
            step -= min(steps)
        broken = data.role(option) == "figure" and data.strands[span.strand].texture in BROKEN
        if broken and data.instrument(option).id not in table["broken_chords"]:
            step += table["broken"]
        names = wanted.get(span.strand)
        if names and data.players[option.player].name not in names:
            step += table["wrong_hint"]
        if (
            data.leading
            and data.role(option) == "melody"
            and data.instrument(option).family not in LEADING[data.leading]
        ):
            step += table["wrong_lead"]
        if step:
            yield alone(NAME, data, option, step * data.busy(option), "not the role it is best at")
