"""Who could be asked for a span at all, holding what: the usual instruments, those to change to, and whom the plan means."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from autoorch.instruments import Instrument
from autoorch.layers.colours import GROUPS, group_of
from autoorch.layers.model import MaterialStrand, PhrasePlan
from autoorch.lineup import Lineup, Player
from autoorch.problem.data import Span, Wish
from autoorch.tables import Tables

OUTER = ("melody", "bass", "pedal")


@dataclass(frozen=True, slots=True)
class Hand:
    """A player (index in the line-up) with an instrument; `planned`: the plan gives him such a strand, or a direction does;
    `named`: a direction that is about nobody else does."""

    player: int
    held: Instrument
    planned: bool
    named: bool = False


def hands_of(
    span: Span, strand: MaterialStrand, phrase: PhrasePlan, lineup: Lineup, asked: Sequence[Wish], tables: Tables
) -> list[Hand]:
    """Every player with what he may hold for the strand, in score order.

    Drums and unpitched percussion come in only where a strand names them; another instrument of a doubling player only where
    the plan or the strand names it.
    """
    phrase = phrase.at(span.start)
    names = _named(strand, phrase, tables)
    here = [
        wish.players
        for wish in asked
        if wish.kind != "avoid" and wish.start < span.end and wish.end > span.start
        if not wish.roles or strand.role in wish.roles
    ]
    wished = {player for players in here for player in players}
    found = []
    for number, player in enumerate(lineup.players):
        planned = _planned(player, strand, phrase) or number in wished
        named = (number,) in here
        found += [Hand(number, held, planned, named) for held in _instruments(player, strand, names)]
    return found


def _named(strand: MaterialStrand, phrase: PhrasePlan, tables: Tables) -> frozenset[str]:
    """Instruments that the plan names for the strand's role."""
    if strand.role in ("bass", "pedal"):
        return frozenset(phrase.bass)
    if strand.role != "melody" or not phrase.lead:
        return frozenset()
    colours = {phrase.lead, *phrase.joined}
    return frozenset(i for row in tables.rule("plan")["colour"] if row["id"] in colours for i in row["instruments"])


def _planned(player: Player, strand: MaterialStrand, phrase: PhrasePlan) -> bool:
    """Tunes and basses are open to all; chords and figures are for the groups of the ground, drums, harp and keys."""
    if not phrase.lead or strand.role in OUTER or strand.hint:
        return True
    group = group_of(player.instrument)
    return group not in GROUPS or group in phrase.ground


def _instruments(player: Player, strand: MaterialStrand, names: frozenset[str]) -> list[Instrument]:
    usual = player.instrument
    if not strand.families:
        own = [usual] if usual.kind not in ("unpitched", "timpani") else []
        return own + [other for other in player.doubles if other.id in names]
    found = [usual] if usual.family in strand.families or usual.id in strand.families else []
    return found + [other for other in player.doubles if other.id in strand.families]
