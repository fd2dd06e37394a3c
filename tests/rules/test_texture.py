"""As many parts as planned; added chords whole or not at all."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

import pytest

from autoorch.problem.data import ProblemData
from autoorch.rules import report, texture
from autoorch.tables import load_tables
from tests.support.tiny import line, players, problem, strand, taken


def test_thinner_and_thicker_than_planned_cost() -> None:
    names = ["flute", "oboe", "clarinet_bb", "bassoon", "violin", "viola", "cello", "double_bass"]
    data = problem(players(*names), strand("s1", "melody", line("s1.1", "C4 D4 E4 D4")), weight=0.5)
    some = ["flute", "oboe", "violin", "viola"]
    few = report(texture, data, taken(data, ("violin", "s1.1", 0))).cost
    right = report(texture, data, taken(data, *((name, "s1.1", 0) for name in some))).cost
    many = report(
        texture, data, taken(data, *((name, "s1.1", 0) for name in [*some, "clarinet_bb", "bassoon", "cello"]))
    ).cost
    assert right == 0 < few
    assert right < many


WINDS = ("flute", "oboe", "clarinet_bb", "bassoon", "horn", "horn")
STRINGS = ("violin", "viola", "cello", "double_bass")


def texture_cost(lead: str, *names: str, bass: str = "C3 D3 E3 D3", dynamic: str = "f") -> int:
    """Of so many players on a tune and the double basses under them, where half of the parts are planned."""
    there = strand("s1", "melody", line("s1.1", "C4 D4 E4 D4")), strand("s2", "bass", line("s2.1", bass))
    data = problem(players(*WINDS, *STRINGS), *there, dynamic=dynamic, weight=0.5)
    data.plan = tuple(replace(phrase, lead=lead) for phrase in data.plan)
    wanted = [(name, "s1.1", 0) for name in names]
    return report(texture, data, taken(data, *wanted, ("double_bass", "s2.1", 0))).cost


def test_a_player_counts_where_he_sounds_long_enough() -> None:
    four = ("violin", "viola", "cello", "bassoon")
    assert texture_cost("violins", *four) == 0
    assert texture_cost("violins", *four[:3]) == 0 < texture_cost("violins", *four[:3], bass="C3 - - -")


def test_in_the_thinnest_phrase_one_with_short_notes_is_one_more() -> None:
    """The players are as many with long notes and with off-beats; off-beats fill nothing where more is planned."""
    names = ("oboe", "clarinet_bb", "bassoon", "horn", "horn")

    def cost(weight: float, *others: str) -> int:
        there = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")), strand("s2", "rhythm", line("s2.1", "- C4 - C4"))
        data = problem(players(*names, *STRINGS), *there, dynamic="p", weight=weight)
        data.plan = tuple(replace(phrase, lead="oboes") for phrase in data.plan)
        tune = [(name, "s1.1", 0) for name in ("violin", "viola", "cello")]
        return report(texture, data, taken(data, *tune, *((name, "s2.1", 0) for name in others))).cost

    thinnest, usual = (load_tables().rule("texture")["active_share"]["p"][k] for k in (0, 2))
    assert cost(thinnest) < cost(thinnest, "horn 1") < cost(thinnest, "horn 1", "bassoon")
    assert cost(usual) == cost(usual, "horn 1", "bassoon")


def test_an_open_plan_is_free_within_what_the_repertoire_does() -> None:
    most = (*WINDS[:4], "horn 1", "horn 2", *STRINGS[:3])
    assert texture_cost("violins", *most) > texture_cost("", *most) == 0
    assert texture_cost("", *most, dynamic="p") > 0


def test_thinner_than_nine_tenths_of_the_repertoire_is_rare_and_thinner_than_planned_is_wrong() -> None:
    few, none, planned = (
        texture_cost("", "violin", "oboe", dynamic="mf"),
        texture_cost("", dynamic="mf"),
        texture_cost("violins"),
    )
    assert 0 == few < none < planned


def test_a_phrase_planned_as_thin_as_the_repertoire_goes_asks_for_the_least_parts_only() -> None:
    """Of forty players at pp: a weight at the thinnest tenth asks for three parts, one above it for the thinnest tenth."""
    share = load_tables().rule(texture.NAME)["active_share"]["pp"][0]

    def fewest(weight: float) -> int:
        names = ("flute", "oboe", "clarinet_bb", "bassoon", "violin", "viola", "cello", "double_bass")
        data = problem(players(*names), strand("s1", "melody", line("s1.1", "B4 A4 B4 A4")), dynamic="pp")
        data.plan = (replace(data.plan[0], weight=weight, lead="flutes"),)
        return texture.wanted(data, 0, 40, 0)[0]

    assert fewest(share) == 2 * 3
    assert fewest(share + 0.01) == 2 * ceil(40 * share)


def test_whoever_rests_through_a_loud_phrase_is_missed_where_the_plan_is_open() -> None:
    few, enough = ("violin", "oboe"), ("violin", "oboe", "viola", "cello")
    assert texture_cost("", *few, dynamic="f") > 0 == texture_cost("", *enough, dynamic="f")
    assert texture_cost("", *enough, dynamic="ff") > 0
    assert texture_cost("", *few, dynamic="p") == 0


def test_a_set_sounds_whole_or_not_at_all() -> None:
    chords = strand(
        "pad1",
        "inner",
        line("pad1.1", "E4", 4),
        line("pad1.2", "C4", 4),
        layer="harmony",
        complete=True,
        families=("horn",),
    )
    data = problem(players("violin", "horn", "horn"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")), chords)
    tune = ("violin", "s1.1", 0)
    assert not report(texture, data, taken(data, tune)).broken
    assert not report(texture, data, taken(data, tune, ("horn 1", "pad1.1", 0), ("horn 2", "pad1.2", 0))).broken
    assert report(texture, data, taken(data, tune, ("horn 1", "pad1.1", 0))).broken


def test_one_figure_at_most_and_motion_where_it_is_offered() -> None:
    figures = [
        strand(
            name, "figure", line(f"{name}.1", "E4 G4 E4 G4"), layer="accompaniment", complete=True, families=("viola",)
        )
        for name in ("figure1", "figure2")
    ]
    data = problem(players("violin", "viola", "viola"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")), *figures)
    tune = ("violin", "s1.1", 0)
    one = taken(data, tune, ("viola 1", "figure1.1", 0))
    both = taken(data, tune, ("viola 1", "figure1.1", 0), ("viola 2", "figure2.1", 0))
    assert not report(texture, data, one).broken
    assert report(texture, data, both).broken
    still = [f.what for f in report(texture, data, taken(data, tune)).findings]
    assert "chords without motion where the plan wants it" in still
    assert "chords without motion where the plan wants it" not in [f.what for f in report(texture, data, one).findings]


@pytest.mark.parametrize(
    ("layer", "played", "left"),
    [
        ("finish", set(), {"a colour that the plan offers is left out"}),
        ("counterline", set(), {"a colour that the plan offers is left out"}),
        ("harmony", {"added notes"}, set()),
    ],
)
def test_what_is_added_is_wanted_or_must_earn_its_place(layer: str, played: set[str], left: set[str]) -> None:
    added = strand("x1", "counterline", line("x1.1", "G4 F4 G4 F4"), layer=layer, families=("horn",))
    data = problem(players("violin", "horn"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")), added)

    def told(*wanted: tuple[str, str, int]) -> set[str]:
        found = report(texture, data, taken(data, ("violin", "s1.1", 0), *wanted)).findings
        return {one.what for one in found if one.cost} - {"thinner than planned"}

    assert told(("horn", "x1.1", 0)) == played
    assert told() == left


def test_a_broken_chord_wants_something_held_beneath() -> None:
    names = ("violin", "viola", "horn", "horn")
    figure = strand("s2", "figure", line("s2.1", "C4 E4 G4 E4"), texture="alberti")
    pad = strand(
        "pad1", "inner", line("p.1", "E4", 4), line("p.2", "C4", 4), layer="harmony", complete=True, families=("horn",)
    )
    held = strand("s3", "inner", line("s3.1", "G3", 4))
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))
    bare = (("violin", "s1.1", 0), ("viola", "s2.1", 0))
    what = "a broken chord with nothing held beneath"

    def told(data: ProblemData, *chosen: tuple[str, str, int]) -> bool:
        return what in [finding.what for finding in report(texture, data, taken(data, *chosen)).findings]

    data = problem(players(*names), tune, figure, pad)
    assert told(data, *bare)
    assert not told(data, *bare, ("horn 1", "p.1", 0), ("horn 2", "p.2", 0))
    assert not told(problem(players(*names), tune, figure, pad, held), *bare)
    assert not told(problem(players(*names), tune, figure), *bare)


def test_in_a_small_band_everybody_has_part_in_the_fullest_phrase() -> None:
    """Five winds: three do for half of them, and nobody rests where all are planned."""
    names = ("flute", "oboe", "clarinet_bb", "horn", "bassoon")

    def cost(count: int, weight: float) -> int:
        data = problem(players(*names), strand("s1", "melody", line("s1.1", "C4 D4 E4 D4")), weight=weight)
        return report(texture, data, taken(data, *((name, "s1.1", 0) for name in names[:count]))).cost

    assert cost(3, 0.5) == cost(5, 0.5) == cost(5, 1.0) == 0
    assert cost(3, 1.0) > cost(4, 1.0) > 0


def test_who_lands_a_run_has_run() -> None:
    """A run of the first phrase whose last note is the first of the second one."""
    run = strand(
        "touch1", "rhythm", line("touch1.1", "- - - - - - C5 D5 E5 - - - - - - -", 0.5), layer="finish", complete=True
    )
    data = problem(players("flute", "clarinet_bb"), run, bars=2, phrases=2)
    by_phrase: dict[int, dict[str, int]] = {0: {}, 1: {}}
    for option in data.options:
        if option.octave == 0:
            by_phrase[data.phrase(option)][data.players[option.player].name] = option.index
    begun, landed = by_phrase[0], by_phrase[1]
    assert not report(texture, data, frozenset({begun["flute"], landed["flute"]})).broken
    assert report(texture, data, frozenset({landed["flute"]})).broken
    assert report(texture, data, frozenset({begun["flute"], landed["clarinet_bb"]})).broken


def test_strokes_do_not_fill_a_tutti_with_full_chords() -> None:
    """All but one play five quavers of eight: enough for three fifths of the time, too little where chords are to be full."""
    names = ("flute", "oboe", "clarinet_bb", "bassoon", "horn", "trumpet_bb", "violin")
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))
    strokes = strand("s2", "rhythm", line("s2.1", "G4 G4 G4 G4 G4 - - -", 0.5))

    def cost(scheme: str) -> int:
        data = problem(players(*names), tune, strokes, dynamic="f", weight=1.0)
        data.plan = tuple(replace(plan, lead="violins", scheme=scheme) for plan in data.plan)
        chosen = taken(data, *((name, "s2.1", 0) for name in names[:-1]), ("violin", "s1.1", 0))
        return report(texture, data, chosen).cost

    assert cost("full chord in each family") > cost("one job per family")


def test_in_an_orchestra_soft_music_keeps_from_the_top_that_nine_tenths_of_the_repertoire_keep_from() -> None:
    """A flute on B6, an octave above the tune: beyond the top at p by three steps, beyond that at ff by fewer."""

    def told(dynamic: str, octave: int, *others: str, text: str = "B5 A5 B5 A5") -> list[int]:
        tune = strand("s1", "melody", line("s1.1", text))
        data = problem(players("flute", *others), tune, dynamic=dynamic)
        findings = report(texture, data, taken(data, ("flute", "s1.1", octave))).findings
        return [f.cost for f in findings if f.what == "beyond what orchestras reach at the dynamic"]

    orchestra = "horn", "violin"
    soft, loud = told("p", 1, *orchestra), told("ff", 1, *orchestra)
    assert soft and loud and soft > loud
    assert told("p", 0, *orchestra) == [] == told("p", 1, "oboe")
    assert soft > told("p", 1, *orchestra, text="B5 E5 D5 E5") > [], "for as long as it lasts"
