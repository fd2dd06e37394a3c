"""Whom a brief means in a line-up: its names, and who should lead."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from difflib import get_close_matches

from autoorch.brief.model import LEADING, Brief
from autoorch.errors import BriefError
from autoorch.instruments import spoken
from autoorch.lineup import Lineup, Player, everyone, resolve
from autoorch.tables import Tables

SUGGESTED = 3
"""So many names are offered for one that nobody has."""


def named(names: Iterable[str], lineup: Lineup, tables: Tables, place: str, absent: bool = False) -> tuple[Player, ...]:
    """The players of the line-up that the names mean, in score order.

    Args:
        place: what the message says first ("bars 9-16").
        absent: an instrument or group that exists but isn't in this line-up means nobody instead of raising.
    Raises:
        BriefError: for a name that means nobody; it lists who is there.
    """
    found: set[str] = set()
    for name in names:
        players = resolve(lineup, name)
        if not players and not (absent and resolve(everyone(tables), name)):
            names_there = [player.name for player in lineup.players]
            near = get_close_matches(name, names_there, n=SUGGESTED)
            there = f"did you mean {' or '.join(near)}?" if near else f"there are {', '.join(names_there)}"
            raise BriefError(f'{place}: nobody in the line-up "{lineup.name}" is called "{name}"; {there}')
        found |= {player.name for player in players}
    return tuple(player for player in lineup.players if player.name in found)


def families(names: Iterable[str], lineup: Lineup) -> tuple[tuple[Player, ...], ...]:
    """The players of each name that is a word for a family ("Strings", "Low brass"): unlike instruments, none of them named."""
    found = []
    for name in names:
        players = resolve(lineup, name)
        unlike = len({player.instrument.id for player in players}) > 1
        if unlike and all(spoken(name) in player.instrument.groups for player in players):
            found.append(players)
    return tuple(found)


def led(brief: Brief, lineup: Lineup) -> tuple[Brief, tuple[str, ...]]:
    """The brief, who leads left open where the line-up has nobody of those who should, and a line that says so."""
    families = {player.instrument.family for player in lineup.players}
    if not brief.leading or families.intersection(LEADING[brief.leading]):
        return brief, ()
    return replace(brief, leading=""), (f"{brief.leading} should lead, and {lineup.name} has none: it is left open",)


def in_unison(brief: Brief, lineup: Lineup) -> tuple[str, ...]:
    """A line for each name that reads like one player's and asks several to play the same."""
    found = []
    for direction in brief.directions:
        for name in (*direction.must, *direction.prefer):
            seats = [player.name for player in resolve(lineup, name) if player.size == 1]
            if len(seats) > 1 and seats[0] == f"{name.strip()} 1":
                found.append(f'{direction}: "{name}" means {", ".join(seats)}; write {seats[0]} for one of them')
    return tuple(found)
