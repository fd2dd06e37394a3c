"""The brief's directions on the sketch's grid: bars become ticks, names become players, roles become strand roles."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.brief import STRAND_ROLES, WISHES, Brief, families, named
from autoorch.layers.directed import held_over
from autoorch.layers.model import PhrasePlan
from autoorch.lineup import Lineup
from autoorch.problem.data import Wish
from autoorch.sketch.model import Sketch
from autoorch.tables import Tables


def wishes(
    brief: Brief, sketch: Sketch, plan: Sequence[PhrasePlan], lineup: Lineup, tables: Tables
) -> tuple[Wish, ...]:
    """Each must, prefer, avoid and only of the brief.

    Raises:
        BriefError: for bars or players that are not there.
    """
    order = {player.name: number for number, player in enumerate(lineup.players)}
    found = []
    for direction in brief.directions:
        start, end = held_over(sketch, plan, direction.bars)
        for kind in WISHES:
            names: Sequence[str] = getattr(direction, kind)
            if names:
                players = named(names, lineup, tables, str(direction), absent=kind == "avoid")
                seats = tuple(sorted(order[player.name] for player in players if player.name in order))
                roles = STRAND_ROLES[direction.role]
                any_of = tuple(tuple(order[player.name] for player in own) for own in families(names, lineup))
                found.append(Wish(str(direction), kind, seats, roles, start, end, direction.octave, any_of))
    return tuple(found)
