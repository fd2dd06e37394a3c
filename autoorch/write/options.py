"""Options: places where another player would do nearly as well by the draft's own costs, so that the user may well decide."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.problem.draft import Choice, Draft
from autoorch.score.notation import Notation
from autoorch.sketch.bars import spelled
from autoorch.sketch.model import Sketch
from autoorch.solver.why import Other, Reason

LEADING = ("melody", "counterline", "bass")
"""Roles whose player a listener makes out."""


def options(reasons: Sequence[Reason], sketch: Sketch, draft: Draft, house: Notation) -> tuple[str, ...]:
    """The cheapest other ways of leading lines, in order of bars: one a place, at most as many and as dear as the table has it.

    Left out are those that go against a direction, and another seat of the same instrument.
    """
    dearest = house.options["within"] * draft.objective
    near = [
        (reason.other.cost, reason.choice.start, reason, reason.other)
        for reason in reasons
        if reason.role in LEADING and reason.other and not reason.other.against and reason.other.cost <= dearest
        if _instrument(reason.choice) != _instrument(reason.other.choice)
    ]
    places: dict[tuple[str, int], tuple[Reason, Other]] = {}
    for _, start, reason, other in sorted(near, key=lambda row: row[:2]):
        if len(places) < house.options["most"]:
            places.setdefault((reason.choice.strand, start), (reason, other))
    return tuple(_told(*place, sketch, draft) for _, place in sorted(places.items(), key=lambda item: item[0][1]))


def _instrument(choice: Choice) -> str:
    """A player's name without his seat, and what he takes for it."""
    name, _, seat = choice.player.rpartition(" ")
    return f"{name if seat.isdigit() else choice.player}/{choice.instrument}"


def _told(reason: Reason, other: Other, sketch: Sketch, draft: Draft) -> str:
    """ "bars 21-24, melody: Oboe 2, an octave lower, for Flute 1: 4 more than 6938 (the melody is weaker than planned)"."""
    choice, instead = reason.choice, other.choice
    bars = spelled(sketch, choice.start, choice.end)
    against = [share.what for share in other.shares if share.cost > 0]
    why = f" ({against[0]})" if against else ""
    who = instead.player + _moved(instead.octave - choice.octave)
    return f"{bars}, {reason.role}: {who} for {choice.player}: {_more(other.cost)} {draft.objective}{why}"


def _moved(octaves: int) -> str:
    if not octaves:
        return ""
    many = "an octave" if abs(octaves) == 1 else f"{abs(octaves)} octaves"
    return f", {many} {'higher' if octaves > 0 else 'lower'},"


def _more(cost: int) -> str:
    return "as dear at" if cost == 0 else f"{cost} more than" if cost > 0 else f"{-cost} less than"
