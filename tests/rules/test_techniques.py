"""Time to change, one way at a time, an offer that is left costs; what is asked for is the only way."""

from __future__ import annotations

from autoorch.layers.model import Manner
from autoorch.problem.data import ProblemData
from autoorch.rules import report, techniques
from tests.support.tiny import BAR, line, players, problem, strand, taken

BASS = strand("s1", "bass", line("s1.1", "C3 - G2 - C3 - G2 -"))


def options(data: ProblemData, technique: str) -> list[int]:
    return [o.index for o in data.options if o.technique == technique and o.octave == 0]


def test_an_offer_that_is_left_costs() -> None:
    data = problem(players("cello"), BASS, bars=2, manners=[Manner("s1", 0, 2 * BAR, "pizz")])
    bowed, plucked = options(data, ""), options(data, "pizz")
    assert len(bowed) == len(plucked) > 0
    assert report(techniques, data, frozenset(plucked)).cost == 0
    assert report(techniques, data, frozenset(bowed)).cost > 0


def test_what_the_brief_asks_for_is_the_only_way_for_those_who_can() -> None:
    asked = Manner("s1", 0, 2 * BAR, "pizz", asked=True)
    data = problem(players("cello", "bassoon"), BASS, bars=2, manners=[asked])
    ways = {(data.players[o.player].name, o.technique) for o in data.options}
    assert ways == {("cello", "pizz"), ("bassoon", "")}


def test_who_is_named_plucks_alone() -> None:
    asked = Manner("s1", 0, 2 * BAR, "pizz", ("cello 1",), asked=True)
    data = problem(players("cello", "cello"), BASS, bars=2, manners=[asked])
    assert {(data.players[o.player].name, o.technique) for o in data.options} == {("cello 1", "pizz"), ("cello 2", "")}


def test_mutes_want_a_rest() -> None:
    """Rests of a crotchet at 60 (1 s) before the second phrase: too short for a mute (3 s), enough to pluck (0.5 s)."""
    for technique, fits in (("con_sord", False), ("pizz", True)):
        asked = Manner("s1", BAR, 2 * BAR, technique, asked=True)
        data = problem(players("cello"), BASS, bars=2, phrases=2, manners=[asked])
        first, second = options(data, ""), options(data, technique)
        broken = report(techniques, data, frozenset({*first, *second})).broken
        assert bool(broken) is not fits
        assert all(name.startswith("time to change/cello/") for name in broken)


def test_half_a_section_does_not_pluck_while_the_other_bows() -> None:
    two = strand("s1", "inner", line("s1.1", "E3 F3 E3 F3"), line("s1.2", "C3 D3 C3 D3"))
    other = strand("s2", "figure", line("s2.1", "G3 A3 G3 A3"))
    data = problem(players("viola"), two, other, manners=[Manner("s1", 0, BAR, "pizz", asked=True)])
    plucked = next(o.index for o in data.options if o.technique and o.share == 6 and not o.octave)
    bowed = next(o.index for o in data.options if not o.technique and o.share == 6 and not o.octave)
    assert report(techniques, data, frozenset({plucked})).broken == ()
    assert report(techniques, data, frozenset({plucked, bowed})).broken != ()


def test_too_fast_to_pluck_is_no_offer() -> None:
    fast = strand("s1", "bass", line("s1.1", "C3 D3 E3 F3 G3 F3 E3 D3", 0.25))
    offer = [Manner("s1", 0, BAR, "pizz")]
    assert options(problem(players("double_bass"), fast, tempo=60, manners=offer), "pizz")
    assert not options(problem(players("double_bass"), fast, tempo=120, manners=offer), "pizz")


def test_a_group_that_leaves_lines_of_the_off_beats_to_another_pays() -> None:
    beats = strand("s2", "rhythm", line("s2.1", "- E4 - E4"), line("s2.2", "- C4 - C4"), texture="off-beats")
    data = problem(players("horn", "horn", "viola", "clarinet_bb"), beats)
    whole = taken(data, ("horn 1", "s2.1", 0), ("horn 2", "s2.2", 0))
    blended = taken(data, ("clarinet_bb", "s2.1", 0), ("horn 2", "s2.2", 0))
    scattered = taken(data, ("viola", "s2.1", 0), ("horn 2", "s2.2", 0))
    assert report(techniques, data, whole).cost == 0 == report(techniques, data, blended).cost
    assert report(techniques, data, scattered).cost > 0
