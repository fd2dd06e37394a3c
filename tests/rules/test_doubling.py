"""Pairs and octaves of the melody (Rimsky-Korsakov ch. II, p. 47 ff.; counted doublings of the OpenScore Orchestra corpus)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.rules import doubling, report
from autoorch.tables import load_tables
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
    text = "E4 F4 G4 F4" if lower == "bassoon" else "C5 D5 E5 D5"
    good = cost("mf", text, (upper, 0), (lower, -1))
    reverse = cost("mf", text, (lower, 0), (upper, -1))
    assert good < reverse


def test_more_octaves_are_for_louder_marks() -> None:
    """Three octaves against two, by as many players, with the line's own octave in both."""
    three, two = (("flute", 1), ("violin", 0), ("cello", -1)), (("flute", 1), ("violin", 0), ("cello", 0))
    assert cost("p", "C5 D5 E5 D5", *three) > cost("p", "C5 D5 E5 D5", *two)
    assert cost("ff", "C5 D5 E5 D5", *three) == 0


def test_a_gap_octave_costs() -> None:
    """Two who are both not in the line's own octave: on both sides of it, or on one."""
    around, above = (("flute", 1), ("cello", -1)), (("flute", 1), ("violin", 1))
    assert cost("ff", "C5 D5 E5 D5", *around) > cost("ff", "C5 D5 E5 D5", *above)


def test_the_tune_is_missed_in_its_own_octave() -> None:
    assert cost("mf", "C5 D5 E5 D5", ("flute", 1)) > cost("mf", "C5 D5 E5 D5", ("flute", 0)) == 0


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


def test_cellos_and_basses_are_in_unison_where_the_basses_can_go_no_lower_and_never_two_octaves_apart() -> None:
    """With a C2 in it the basses can't go an octave lower; a line that is as low all along is the cellos' an octave higher."""

    def cost(text: str, cello: int, bass: int) -> int:
        data = problem(players("cello", "double_bass"), strand("s1", "bass", line("s1.1", text)))
        findings = report(doubling, data, taken(data, ("cello", "s1.1", cello), ("double_bass", "s1.1", bass))).findings
        return sum(f.cost for f in findings if f.what == "the bass not an octave apart")

    assert cost("C2 G2 E3 D3", 0, 0) == 0 == cost("C2 G2 E3 D3", 1, 0)
    assert cost("C2 D2 C2 D2", 0, 0) > 0 == cost("C2 D2 C2 D2", 1, 0)
    assert cost("C3 D3 E3 D3", 1, -1) > 0


def test_cellos_have_the_bass_as_it_is_written_unless_it_lies_low() -> None:
    def cost(text: str, cello: int, bass: int, *planned: str) -> int:
        data = problem(players("cello", "double_bass"), strand("s1", "bass", line("s1.1", text)))
        data.plan = (replace(data.plan[0], bass=planned or ("cello", "double_bass")),)
        return report(doubling, data, taken(data, ("cello", "s1.1", cello), ("double_bass", "s1.1", bass))).cost

    assert cost("G2 A2 B2 A2", 1, 0, "bassoon") == 0
    assert cost("G2 A2 B2 A2", 1, 0) > cost("G2 A2 B2 A2", 0, -1) == 0
    assert cost("D2 A2 B2 G2", 1, 0) > cost("D2 A2 B2 G2", 0, 0)  # the basses have no D1
    assert cost("D2 E2 D2 C2", 1, 0) == 0


def test_loud_octaves_of_an_inner_line_have_doublers_of_their_own() -> None:
    names = ("flute", "oboe", "clarinet_bb", "violin", "viola")
    data = problem(players(*names), strand("s1", "inner", line("s1.1", "C5 D5 E5 D5")), dynamic="f")
    unison = taken(data, *((name, "s1.1", 0) for name in names))
    shared = taken(data, *((name, "s1.1", int(name in names[:2])) for name in names))
    assert report(doubling, data, shared).cost == 0 < report(doubling, data, unison).cost


def test_a_landing_has_its_lower_octave_in_a_strand_of_its_own_or_under_the_bass() -> None:
    land = strand("land1", "bass", line("land1.1", "- - C2 -"), layer="bass", families=("tuba",))
    data = problem(players("cello", "double_bass", "tuba"), strand("s2", "bass", line("s2.1", "C3 G2 C3 G2")), land)
    high, low, own = ("cello", "s2.1", 0), ("double_bass", "s2.1", -1), ("tuba", "land1.1", 0)

    def missed(*wanted: tuple[str, str, int]) -> bool:
        found = report(doubling, data, taken(data, *wanted)).findings
        return "a landing without the lower octave of its bass" in {finding.what for finding in found}

    assert missed(high)
    assert not missed(high, low)
    assert not missed(high, own)


def paid(*chosen: tuple[str, int], text: str = "C5 D5 E5 D5", dynamic: str = "mf") -> set[str]:
    """What a tune on these players pays for."""
    data = problem(players(*(name for name, _ in chosen)), strand("s1", "melody", line("s1.1", text)), dynamic=dynamic)
    names = [player.name for player in data.players]
    wanted = [(name, "s1.1", octave) for name, (_, octave) in zip(names, chosen, strict=True)]
    return {finding.what for finding in report(doubling, data, taken(data, *wanted)).findings}


def test_like_woodwinds_in_octaves_have_strings_with_them() -> None:
    alike = "like woodwinds in octaves"
    pair = (("clarinet_bb", 0), ("clarinet_bb", -1))
    assert alike in paid(*pair)
    assert alike not in paid(*pair, ("violin", 0))
    assert alike not in paid(("clarinet_bb", 0), ("clarinet_bb", 0))
    assert alike not in paid(("violin", 0), ("violin", -1))


def test_bassoons_are_rarely_in_unison_with_oboes_or_flutes() -> None:
    for high in ("oboe", "flute"):
        assert "a rare unison" in paid(("bassoon", 0), (high, 0), text="C4 D4 E4 D4")
        assert "a rare unison" not in paid(("bassoon", -1), (high, 0), text="C4 D4 E4 D4")
    assert "a rare unison" not in paid(("bassoon", 0), ("clarinet_bb", 0), text="C4 D4 E4 D4")


def test_brass_and_strings_in_unison_blend_with_woodwind_or_as_horns_with_low_strings() -> None:
    weak, text = "strings and brass alone in unison", "G4 A4 G4 A4"
    assert weak in paid(("trumpet_bb", 0), ("violin", 0), text=text)
    assert weak in paid(("horn", 0), ("violin", 0), text=text)
    assert weak in paid(("trumpet_bb", 0), ("viola", 0), text=text)
    assert weak not in paid(("horn", 0), ("viola", 0), text=text)
    assert weak not in paid(("horn", 0), ("cello", 0), text=text)
    assert weak not in paid(("trumpet_bb", 0), ("violin", 0), ("oboe", 0), text=text)


def test_in_a_small_line_up_each_has_a_part_of_its_own_below_forte() -> None:
    def doubled(count: int, dynamic: str) -> bool:
        names = ("violin", "violin", *["viola"] * (count - 2))
        data = problem(players(*names), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")), dynamic=dynamic)
        chosen = taken(data, ("violin 1", "s1.1", 0), ("violin 2", "s1.1", 0))
        return f"more doublers than {dynamic} asks for" in {f.what for f in report(doubling, data, chosen).findings}

    few = load_tables().rule("doubling")["few"]
    assert doubled(few, "mf")
    assert not doubled(few + 1, "mf")
    assert not doubled(few, "f")
