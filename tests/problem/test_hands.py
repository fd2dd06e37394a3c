"""Who could be asked: chords and figures stay with the planned groups, another instrument comes in where the plan names it."""

from __future__ import annotations

from dataclasses import replace

from autoorch.layers.model import PhrasePlan
from autoorch.lineup import parse_lineup
from autoorch.problem.data import Span, Wish
from autoorch.problem.hands import Hand, hands_of
from autoorch.tables import load_tables
from tests.support.tiny import BAR, line, strand

TABLES = load_tables()
LINEUP = parse_lineup("romantic", TABLES)
PLAN = PhrasePlan(
    0,
    BAR,
    0.3,
    "p",
    lead="cor anglais",
    joined=("clarinets",),
    ground=("strings",),
    bass=("bass_clarinet",),
    doublers=1,
)


def hands(role: str, plan: PhrasePlan = PLAN, wishes: tuple[Wish, ...] = ()) -> list[Hand]:
    one = strand("s1", role, line("s1.1", "C4 D4 E4 D4"))
    return hands_of(Span(0, 0, 0, 0, BAR, 4, {}), one, plan, LINEUP, wishes, TABLES)


def holding(found: list[Hand]) -> set[tuple[str, str]]:
    """(player, another instrument than the usual one)"""
    return {
        (LINEUP.players[hand.player].name, hand.held.id)
        for hand in found
        if hand.held is not LINEUP.players[hand.player].instrument
    }


def test_another_instrument_only_where_the_plan_names_it() -> None:
    assert holding(hands("melody")) == {("Oboe 3", "cor_anglais")}
    assert holding(hands("bass")) == {("Clarinet 3", "bass_clarinet")}
    assert holding(hands("inner")) == set()
    assert holding(hands("melody", replace(PLAN, lead="violins", joined=()))) == set()


def test_chords_are_for_the_ground_and_for_whom_a_direction_asks() -> None:
    def planned(found: list[Hand]) -> set[str]:
        return {LINEUP.players[hand.player].instrument.family for hand in found if hand.planned}

    assert planned(hands("inner")) == {"strings", "harp"}
    assert planned(hands("melody")) >= {"strings", "woodwind", "brass"}
    horn = next(k for k, player in enumerate(LINEUP.players) if player.name == "Horn 1")
    asked = Wish("inner: prefer Horn 1", "prefer", (horn,), ("inner",), 0, BAR)
    assert "brass" in planned(hands("inner", wishes=(asked,)))


def test_named_is_who_is_asked_for_alone() -> None:
    tuba = next(k for k, player in enumerate(LINEUP.players) if player.name == "Tuba")
    for players, named in (((tuba,), {tuba}), ((tuba - 1, tuba), set())):
        asked = Wish("melody", "prefer", players, ("melody",), 0, BAR)
        found = hands("melody", wishes=(asked,))
        assert {hand.player for hand in found if hand.named} == named
        assert {hand.player for hand in found if hand.planned} >= set(players)
