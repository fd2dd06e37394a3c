"""Balance against Rimsky-Korsakov's equations (Principles of Orchestration, 1922, ch. I, "Comparison of resonance")."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.layers.model import Manner, MaterialLine
from autoorch.rules import balance, report
from autoorch.rules.balance import planned, strength
from tests.support.tiny import BAR, line, players, problem, strand, taken

LOWER = line("s2.1", "F4 F4 F4 F4")


def shortfall(
    tune: list[str], against: list[str], dynamic: str, other: MaterialLine = LOWER, lead: str = "", doublers: int = 0
) -> int:
    """Cost of the tune on some players against another line a third lower on others, all in even registers.

    Args:
        lead, doublers: colour and players that the plan gives the tune, "" where it leaves it open.
    """
    names = tune + against
    data = problem(
        players(*names),
        strand("s1", "melody", line("s1.1", "A4 A4 A4 A4")),
        strand("s2", "counterline", other),
        dynamic=dynamic,
    )
    data.plan = tuple(replace(phrase, lead=lead, doublers=doublers) for phrase in data.plan)
    seen: dict[str, int] = {}
    chosen: list[tuple[str, str, int]] = []
    for position, name in enumerate(names):
        seen[name] = seen.get(name, 0) + 1
        player = f"{name} {seen[name]}" if names.count(name) > 1 else name
        chosen.append((player, "s1.1" if position < len(tune) else "s2.1", 0))
    return report(balance, data, taken(data, *chosen)).cost


@pytest.mark.parametrize(
    ("strong", "weak"),
    [
        (["trumpet_c"], ["horn", "horn"]),  # forte: one trumpet = two horns
        (["horn"], ["oboe", "oboe"]),  # forte: one horn = two woodwinds
    ],
)
def test_forte_equations(strong: list[str], weak: list[str]) -> None:
    even = shortfall(strong, weak, "f"), shortfall(weak, strong, "f")
    one_less = shortfall(weak[:1], strong, "f")
    assert max(even) < one_less


@pytest.mark.parametrize("name", ["trumpet_c", "horn", "oboe", "clarinet_bb", "bassoon"])
def test_in_piano_all_winds_are_about_equal(name: str) -> None:
    third_of_a_unit = 3 * 4  # tenths of a unit x quarter-bars: what registers may add or take
    assert shortfall(["oboe"], [name], "p") <= third_of_a_unit
    assert shortfall([name], ["oboe"], "p") <= third_of_a_unit


def test_a_masked_tune_costs_and_a_heard_one_does_not() -> None:
    assert shortfall(["flute"], ["trumpet_c"], "f") > 0
    assert shortfall(["trumpet_c"], ["oboe"], "f") == 0


def test_what_is_held_or_far_below_does_not_cover_a_tune() -> None:
    moving, held = line("s2.1", "F4 G4 F4 G4"), line("s2.1", "F4", 4)
    low = line("s2.1", "F3 G3 F3 G3")
    assert shortfall(["flute"], ["trumpet_c"], "f", moving) > 0
    assert shortfall(["flute"], ["trumpet_c"], "f", held) == 0
    assert shortfall(["flute"], ["horn"], "f", low) == 0 < shortfall(["flute"], ["horn"], "f", moving)


def test_each_bar_counts_in_which_a_strand_comes_near_the_tune() -> None:
    """Two of four bars lie within an octave of the tune, all of them moving: half as dear as four."""
    near, far = "F4 G4 F4 G4 ", "F3 G3 F3 G3 "

    def cost(*bars: str) -> int:
        tune, under = strand("s1", "melody", line("s1.1", "A4 A4 A4 A4 " * 4)), line("s2.1", "".join(bars))
        data = problem(players("flute", "horn"), tune, strand("s2", "counterline", under), dynamic="f", bars=4)
        return report(balance, data, taken(data, ("flute", "s1.1", 0), ("horn", "s2.1", 0))).cost

    assert cost(near, far, far, far) > cost(far, far, far, far) == 0
    assert cost(near, near, near, near) == 2 * cost(near, far, near, far) == 4 * cost(near, far, far, far)


def test_once_the_margin_is_met_more_earns_nothing() -> None:
    assert shortfall(["trumpet_c"], ["oboe"], "f") == shortfall(["trumpet_c", "oboe"], ["clarinet_bb"], "f") == 0


def test_where_the_plan_gives_the_tune_its_players_the_others_stay_below_them() -> None:
    alone = shortfall(["oboe"], ["clarinet_bb"], "p", lead="oboes", doublers=1)
    assert alone == shortfall(["oboe"], ["clarinet_bb"], "p")
    together = shortfall(["oboe"], ["clarinet_bb", "bassoon"], "p", lead="oboes", doublers=1)
    assert together > shortfall(["oboe"], ["clarinet_bb", "bassoon"], "p") > alone


def test_a_plan_that_only_says_who_leads_leaves_open_how_strongly() -> None:
    others = ["clarinet_bb", "bassoon"]
    assert shortfall(["oboe"], others, "p", lead="oboes") == shortfall(["oboe"], others, "p")


def chord_cost(*names: str, dynamic: str = "f") -> int:
    """Of a chord's upper line on some players beside its lower one on a horn."""
    chord = strand("s2", "inner", line("s2.1", "E4 E4 E4 E4"), line("s2.2", "C4 C4 C4 C4"))
    data = problem(players(*names, "horn"), chord, dynamic=dynamic)
    return report(balance, data, taken(data, *((name, "s2.1", 0) for name in names), ("horn", "s2.2", 0))).cost


def test_one_strong_line_of_a_chord_is_free_and_a_crushing_one_costs() -> None:
    assert chord_cost("trumpet_c") == 0
    assert 0 < chord_cost("trumpet_c", "trombone", "violin") < chord_cost("trumpet_c", "trombone", "violin", "viola")


def test_plucked_off_beats_cover_less_than_bowed_ones() -> None:
    beats = strand("s2", "rhythm", line("s2.1", "- B3 B3 -"))
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))
    data = problem(players("oboe", "viola"), tune, beats, manners=[Manner("s2", 0, BAR, "pizz")])
    bowed, plucked = (
        next(
            o
            for o in data.options
            if data.role(o) == "rhythm" and "".join(o.techniques) == way and not o.octave and o.share == 12
            and data.players[o.player].name == "viola"
        )
        for way in ("", "pizz")
    )  # fmt: skip
    assert 0 < balance.strength(data, plucked) < balance.strength(data, bowed)


def grounded(bass: str, dynamic: str, bars: int = 1, layer: str = "assigned") -> int:
    """What a trumpet's tune over a bass on one instrument pays for the bass's weakness."""
    tune = strand("s1", "melody", line("s1.1", "A4 A4 A4 A4 " * bars))
    low = strand("s2", "bass", line("s2.1", "C3 C3 C3 C3 " * bars), line("s2.2", "G3 G3 G3 G3 " * bars), layer=layer)
    data = problem(players("trumpet_c", bass), tune, low, dynamic=dynamic, bars=bars)
    found = report(balance, data, taken(data, ("trumpet_c", "s1.1", 0), (bass, "s2.1", 0))).findings
    return sum(finding.cost for finding in found if finding.what == "the bass is weak under the melody")


def test_from_mezzoforte_on_a_bass_stands_under_the_tune() -> None:
    assert grounded("bassoon", "f") > 0 == grounded("tuba", "f")
    assert grounded("bassoon", "p") == 0
    assert grounded("bassoon", "f", bars=3) == 3 * grounded("bassoon", "f"), "for as long as it lasts"
    assert grounded("bassoon", "f", layer="bass") == 0, "the sketch's own, not what we double it with"


def test_the_second_line_of_the_bass_does_not_stand_for_the_first() -> None:
    tune = strand("s1", "melody", line("s1.1", "A4 A4 A4 A4"))
    low = strand("s2", "bass", line("s2.1", "C3 C3 C3 C3"), line("s2.2", "G3 G3 G3 G3"))
    data = problem(players("trumpet_c", "bassoon", "tuba"), tune, low, dynamic="f")
    chosen = taken(data, ("trumpet_c", "s1.1", 0), ("bassoon", "s2.1", 0), ("tuba", "s2.2", 0))
    assert "the bass is weak under the melody" in {finding.what for finding in report(balance, data, chosen).findings}


def test_of_a_tune_that_may_be_a_solo_no_more_than_one_player_is_planned() -> None:
    def asked(*manners: Manner) -> int:
        tune = strand("s1", "melody", line("s1.1", "A4 A4 A4 A4"))
        data = problem(players("violin", "flute"), tune, dynamic="p", manners=manners)
        data.plan = tuple(replace(phrase, lead="violins", doublers=1) for phrase in data.plan)
        melody = data.by_line[0, 0]
        return planned(data, data.spans[0], melody, {o.index: strength(data, o) for o in melody})

    whole, alone = asked(), asked(Manner("s1", 0, BAR, "solo", ("violin",)))
    assert 0 < alone < whole


def voiced(texture: str, tenor: str, dynamic: str, *names: str) -> int:
    """Cost of an oboe's tune over alto and tenor of one strand, which two more players have."""
    tune = strand("s1", "melody", line("s1.1", "A4 A4 A4 A4"))
    inner = strand("s2", "inner", line("s2.1", "F4 E4 F4 E4"), line("s2.2", tenor), texture=texture)
    data = problem(players("oboe", *names), tune, inner, dynamic=dynamic)
    data.plan = tuple(replace(phrase, lead="oboes", doublers=1) for phrase in data.plan)
    chosen = taken(data, ("oboe", "s1.1", 0), (names[0], "s2.1", 0), (names[1], "s2.2", 0))
    return report(balance, data, chosen).cost


def test_a_voice_of_a_hymn_near_the_tune_covers_it_though_the_other_is_far_below() -> None:
    """A trumpet on the alto, a third below the tune; the tenor is two octaves down, so that the strand on average is far off."""
    hymn, polyphony = (voiced(texture, "D2 C2 D2 C2", "f", "trumpet_bb", "cello") for texture in ("hymn", "polyphony"))
    assert hymn > polyphony


def test_of_a_hymn_each_voice_is_one_strand_beside_the_tune() -> None:
    hymn, polyphony = (
        voiced(texture, "D4 C4 D4 C4", "p", "clarinet_bb", "bassoon") for texture in ("hymn", "polyphony")
    )
    assert hymn < polyphony
