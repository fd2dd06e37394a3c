"""Who is at home in which role."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.roles.model import ROLES
from autoorch.rules import idiom, report
from autoorch.tables import load_tables
from tests.support.tiny import line, players, problem, strand, taken


def test_every_instrument_has_a_step_for_every_role() -> None:
    tables = load_tables()
    rows = tables.rule("idiom")["roles"]
    pitched = {name for name, instrument in tables.instruments.items() if instrument.kind != "unpitched"}
    assert pitched == set(rows)
    assert all(len(row) == len(ROLES) for row in rows.values())


def test_the_tune_costs_less_on_the_violins_than_on_the_violas() -> None:
    data = problem(players("violin", "viola"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")))
    high, low = (report(idiom, data, taken(data, (name, "s1.1", 0))).cost for name in ("violin", "viola"))
    assert high < low


def test_a_named_staff_prefers_its_instrument() -> None:
    data = problem(players("flute", "oboe"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"), hint="Oboe"))
    named, other = (report(idiom, data, taken(data, (name, "s1.1", 0))).cost for name in ("oboe", "flute"))
    assert named < other


def test_in_a_tutti_everybody_is_wanted_in_the_role_he_is_best_at() -> None:
    def cost(role: str, dynamic: str) -> int:
        data = problem(players("trumpet_c"), strand("s1", role, line("s1.1", "C5 D5 E5 D5")), dynamic=dynamic)
        return report(idiom, data, taken(data, ("trumpet_c", "s1.1", 0))).cost

    assert cost("inner", "ff") == 0 < cost("inner", "mf")
    assert 0 < cost("melody", "ff") < cost("melody", "mf")


def test_broken_chords_are_for_who_can_roll_through_them() -> None:
    """A trumpet pays for an arpeggio what it does not pay for another figure; a clarinet has both alike."""

    def cost(name: str, texture: str) -> int:
        notes = "C5 E5 G5 E5" if texture == "arpeggio" else "C5 D5 E5 D5"
        figure = replace(strand("s1", "figure", line("s1.1", notes)), texture=texture)
        data = problem(players(name), figure, dynamic="ff")
        return report(idiom, data, taken(data, (name, "s1.1", 0))).cost

    assert cost("trumpet_c", "arpeggio") > cost("trumpet_c", "ostinato") > 0
    assert cost("clarinet_bb", "arpeggio") == cost("clarinet_bb", "ostinato")
    rolled = strand("s1", "rhythm", line("s1.1", "C5 E5 G5 E5"), texture="off-beats")
    struck = strand("s1", "rhythm", line("s1.1", "C5 - G5 -"), texture="off-beats")
    prices = {}
    for name in ("trumpet_c", "clarinet_bb"):
        for one in (rolled, struck):
            data = problem(players(name), one, dynamic="mf")
            option = next(o for o in data.options if not o.octave)
            prices[name, one is rolled] = report(idiom, data, frozenset({option.index})).cost / data.busy(option)
    assert prices["trumpet_c", True] > prices["trumpet_c", False], "whatever it is called"
    assert prices["clarinet_bb", True] == prices["clarinet_bb", False]
    known = load_tables().instruments
    assert set(load_tables().rule("idiom")["broken_chords"]) <= set(known)


@pytest.mark.parametrize(
    ("role", "besides", "plain", "name"),
    [
        ("bass", "C4 D4 E4 D4", "C4 D4 A2 D4", "horn"),
        ("figure", "C4 C4 C4 D4", "C4 E4 G4 E4", "horn"),
        ("figure", "C4 - - -", "C4 E4 - -", "horn"),
    ],
)
def test_a_line_that_is_an_inner_part_besides_asks_for_less(role: str, besides: str, plain: str, name: str) -> None:
    # a bass that never goes low, a figure that repeats its note or holds it
    one, other = (_alone(role, text, name) for text in (besides, plain))
    assert one < other


def test_a_chorale_is_for_a_choir() -> None:
    # trombones have the tune of their own chords, and no other tune as readily
    tune, chords = "C4 D4 E4 D4", strand("s2", "inner", line("s2.1", "G3 G3 G3 G3"))
    moving = strand("s2", "inner", line("s2.1", "G3 - - -"))
    chorale, song = (
        report(idiom, data, taken(data, ("trombone", "s1.1", 0))).cost
        for data in (
            problem(players("trombone"), strand("s1", "melody", line("s1.1", tune)), s) for s in (chords, moving)
        )
    )
    assert chorale < song


def test_who_fills_a_tutti_is_charged_less_than_who_leads() -> None:
    assert _alone("inner", "C5 D5 E5 D5", "flute", "f") < _alone("inner", "C5 D5 E5 D5", "flute", "mf")
    assert _alone("inner", "C5 D5 E5 D5", "harp", "f") == _alone("inner", "C5 D5 E5 D5", "harp", "mf") > 0, (
        "no tutti's wind or string"
    )
    least = min(load_tables().rule("idiom")["roles"]["clarinet_bb"])
    tunes = [_alone("melody", "C5 D5 E5 D5", "clarinet_bb", dynamic) for dynamic in ("mf", "f")]
    assert tunes[0] - tunes[1] == least * 4, "a tune only by what the player is best at, in four quarter-bars"


def _alone(role: str, text: str, name: str, dynamic: str = "mf") -> int:
    data = problem(players(name), strand("s1", role, line("s1.1", text)), dynamic=dynamic)
    return report(idiom, data, taken(data, (name, "s1.1", 0))).cost


def test_a_tuba_fills_no_chords() -> None:
    steps = load_tables().rule("idiom")["roles"]["tuba"]
    assert _alone("inner", "C2 D2 E2 D2", "tuba", "f") == 4 * (steps[ROLES.index("inner")] - min(steps)), (
        "the whole of its step"
    )


def test_a_step_is_paid_for_as_long_as_it_lasts() -> None:
    assert _alone("melody", "C5 D5 E5 D5", "viola") == 4 * _alone("melody", "C5 - - -", "viola") > 0


def test_only_the_asked_for_family_leads_freely() -> None:
    data = problem(players("violin", "oboe"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")))
    free = {name: report(idiom, data, taken(data, (name, "s1.1", 0))).cost for name in ("violin", "oboe")}
    data.leading = "winds"
    led = {name: report(idiom, data, taken(data, (name, "s1.1", 0))).cost for name in ("violin", "oboe")}
    assert led["oboe"] == free["oboe"]
    assert led["violin"] - free["violin"] == 4 * load_tables().rule("idiom")["wrong_lead"]


def test_who_has_the_bass_in_the_plan_is_in_place() -> None:
    data = problem(players("bassoon", "harp"), strand("s1", "bass", line("s1.1", "C3 D3 E3 D3")))

    def cost(*planned: str) -> int:
        data.plan = (replace(data.plan[0], bass=planned),)
        return report(idiom, data, taken(data, ("harp", "s1.1", 0))).cost

    assert cost("bassoon") > cost("harp") == 0
