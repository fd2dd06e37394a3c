"""Pairs and octaves of the melody (Rimsky-Korsakov ch. II, p. 47 ff.; counted doublings of the OpenScore Orchestra corpus)."""

from __future__ import annotations

import pytest

from autoorch.rules import doubling, report
from tests.support.tiny import line, players, problem, strand, taken


def cost(dynamic: str, text: str, *chosen: tuple[str, int]) -> int:
    data = problem(players(*dict(chosen)), strand("s1", "melody", line("s1.1", text)), dynamic=dynamic)
    return report(doubling, data, taken(data, *((name, "s1.1", octave) for name, octave in chosen))).cost


@pytest.mark.parametrize(
    ("upper", "lower"),
    [("flute", "oboe"), ("flute", "clarinet_bb"), ("oboe", "clarinet_bb"), ("clarinet_bb", "bassoon")],
)
def test_the_named_octave_pairs_beat_their_reversal(upper: str, lower: str) -> None:
    # p. 49: good, upper over lower; the reversed order is warned against
    text = "C4 D4 E4 D4" if lower == "bassoon" else "C5 D5 E5 D5"
    good = cost("mf", text, (upper, 0), (lower, -1))
    try:
        reverse = cost("mf", text, (lower, 0), (upper, -1))
    except KeyError:
        return  # out of range, so it can't be chosen at all
    assert good < reverse


def test_more_octaves_are_for_louder_marks() -> None:
    pair = (("flute", 1), ("violin", 0), ("cello", -1))
    assert cost("p", "C5 D5 E5 D5", *pair) > cost("ff", "C5 D5 E5 D5", *pair)


def test_a_gap_octave_costs() -> None:
    assert cost("ff", "C5 D5 E5 D5", ("flute", 1), ("cello", -1)) > cost(
        "ff", "C5 D5 E5 D5", ("flute", 1), ("violin", 0), ("cello", -1)
    )


@pytest.mark.parametrize(("dynamic", "free"), [("mf", False), ("f", True)])
def test_octaves_beside_an_inner_line_are_free_where_it_is_loud(dynamic: str, free: bool) -> None:
    data = problem(players("viola", "oboe"), strand("s1", "inner", line("s1.1", "C4 D4 E4 D4")), dynamic=dynamic)
    home, copy = ("viola", "s1.1", 0), ("oboe", "s1.1", 1)
    beside, alone = (report(doubling, data, taken(data, *chosen)).cost for chosen in ((home, copy), (copy,)))
    assert (beside == 0) is free
    assert alone > 0


def test_an_inner_line_that_leaves_its_octave_is_missed_more_where_it_is_soft() -> None:
    def cost_away(dynamic: str) -> int:
        data = problem(players("oboe"), strand("s1", "inner", line("s1.1", "C4 D4 E4 D4")), dynamic=dynamic)
        return report(doubling, data, taken(data, ("oboe", "s1.1", 1))).cost

    assert 0 < cost_away("f") < cost_away("p")


def test_cellos_and_basses_have_the_bass_in_octaves() -> None:
    # 96 % of the time that both have it in four symphonic movements
    data = problem(players("cello", "double_bass"), strand("s1", "bass", line("s1.1", "C3 D3 E3 D3")))
    octaves = taken(data, ("cello", "s1.1", 0), ("double_bass", "s1.1", -1))
    unison = taken(data, ("cello", "s1.1", 0), ("double_bass", "s1.1", 0))
    assert report(doubling, data, octaves).cost == 0 < report(doubling, data, unison).cost


def test_loud_octaves_of_an_inner_line_have_doublers_of_their_own() -> None:
    names = ("flute", "oboe", "clarinet_bb", "violin", "viola")
    data = problem(players(*names), strand("s1", "inner", line("s1.1", "C5 D5 E5 D5")), dynamic="f")
    unison = taken(data, *((name, "s1.1", 0) for name in names))
    shared = taken(data, *((name, "s1.1", int(name in names[:2])) for name in names))
    assert report(doubling, data, shared).cost == 0 < report(doubling, data, unison).cost
