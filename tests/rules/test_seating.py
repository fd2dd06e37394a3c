"""First chairs lead; horns 1 and 3 lie high, 2 and 4 low (common practice)."""

from __future__ import annotations

from autoorch.layers.model import Manner
from autoorch.rules import playability, report, seating
from autoorch.tables import load_tables
from tests.support.tiny import BAR, line, players, problem, strand, taken


def test_first_chair_leads() -> None:
    data = problem(players("flute", "flute"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")))
    first, second = (report(seating, data, taken(data, (f"flute {k}", "s1.1", 0))).cost for k in (1, 2))
    assert first < second


def test_third_horn_lies_above_the_second() -> None:
    pair = strand("s2", "inner", line("s2.1", "C5 C5 C5 C5"), line("s2.2", "C3 C3 C3 C3"))
    data = problem(players("horn", "horn", "horn"), strand("s1", "melody", line("s1.1", "- - - - G4")), pair, bars=2)
    usual = report(seating, data, taken(data, ("horn 3", "s2.1", 0), ("horn 2", "s2.2", 0))).cost
    swapped = report(seating, data, taken(data, ("horn 2", "s2.1", 0), ("horn 3", "s2.2", 0))).cost
    assert usual < swapped


def test_a_tune_does_not_pass_a_chair_over() -> None:
    data = problem(players("clarinet_bb", "clarinet_bb"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")))
    names = [f"clarinet_bb {k}" for k in (1, 2)]
    over = "a tune that passes a chair over"

    def paid(*who: str) -> bool:
        found = report(seating, data, taken(data, *((name, "s1.1", 0) for name in who))).findings
        return over in {finding.what for finding in found}

    assert paid(names[1])
    assert not paid(names[0])
    assert not paid(*names)


def test_first_violins_have_the_upper_octave() -> None:
    data = problem(players("violin", "violin"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")))
    usual, swapped = (
        report(seating, data, taken(data, (f"violin {first}", "s1.1", 1), (f"violin {3 - first}", "s1.1", 0))).cost
        for first in (1, 2)
    )
    assert usual + data.tables.rule("seating")["weights"]["passed_over"] <= swapped


def test_of_two_lines_of_a_tune_the_first_violins_have_the_upper() -> None:
    tune = strand("s1", "melody", line("s1.1", "C6 D6 E6 D6"), line("s1.2", "C5 D5 E5 D5"))
    data = problem(players("violin", "violin"), tune)
    what = "the second chair has a tune above the first"

    def told(upper: int) -> bool:
        chosen = taken(data, (f"violin {upper}", "s1.1", 0), (f"violin {3 - upper}", "s1.2", 0))
        return what in {finding.what for finding in report(seating, data, chosen).findings}

    assert told(2) and not told(1)


def test_two_sections_have_an_octave_each_before_both_divide() -> None:
    tune = strand("s1", "melody", line("s1.1", "C6 D6 E6 D6"), line("s1.2", "C5 D5 E5 D5"))
    data = problem(players("violin", "violin"), tune)
    halves = [
        next(o.index for o in data.options if (o.player, o.lines, o.octave, o.share) == (player, (k,), 0, 6))
        for player in (0, 1)
        for k in (0, 1)
    ]
    what = "two like sections are divided in one tune"
    both, one = (
        {finding.what for finding in report(seating, data, frozenset(chosen)).findings}
        for chosen in (halves, [*halves[:2], *taken(data, ("violin 2", "s1.2", 0))])
    )
    assert what in both
    assert what not in one, "three octaves or a weighty lower one"


def test_second_violins_lie_under_the_first_in_another_accompaniment_too() -> None:
    chords = strand("s2", "inner", line("s2.1", "A4 A4 A4 A4"))
    figure = strand("s3", "figure", line("s3.1", "C4 D4 C4 D4"))
    data = problem(players("violin", "violin"), strand("s1", "melody", line("s1.1", "C6 D6 E6 D6")), chords, figure)

    def paid(upper: int) -> int:
        chosen = taken(data, (f"violin {upper}", "s2.1", 0), (f"violin {3 - upper}", "s3.1", 0))
        found = report(seating, data, chosen).findings
        return sum(f.cost for f in found if f.what == "the second of a pair above the first")

    assert paid(1) == 0 < paid(2)


def test_horns_take_a_tune_by_one_and_three() -> None:
    data = problem(players(*["horn"] * 4), strand("s1", "melody", line("s1.1", "C4 D4 E4 D4")))

    def cost(*numbers: int) -> int:
        return report(seating, data, taken(data, *((f"horn {k}", "s1.1", 0) for k in numbers))).cost

    assert cost(1, 3) + data.tables.rule("seating")["weights"]["passed_over"] <= cost(2, 4)


def test_a_choir_of_two_kinds_has_the_higher_one_on_top() -> None:
    choir = strand(
        "pad1", "inner", line("pad1.1", "G4"), line("pad1.2", "C4"), layer="harmony", complete=True,
        families=("clarinet_bb", "bassoon"),
    )  # fmt: skip
    data = problem(players("clarinet_bb", "bassoon"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")), choir)
    usual = report(seating, data, taken(data, ("clarinet_bb", "pad1.1", 0), ("bassoon", "pad1.2", 0))).cost
    upside_down = report(seating, data, taken(data, ("bassoon", "pad1.1", 0), ("clarinet_bb", "pad1.2", 0))).cost
    assert usual < upside_down


def test_a_set_of_chords_has_its_first_chair_on_top() -> None:
    choir = strand(
        "pad1", "inner", line("pad1.1", "E4"), line("pad1.2", "C4"), layer="harmony", complete=True, families=("horn",)
    )
    data = problem(players("horn", "horn"), strand("s1", "melody", line("s1.1", "- C5 D5 E5")), choir)
    usual, swapped = (
        sum(
            finding.cost
            for finding in report(
                seating, data, taken(data, (f"horn {top}", "pad1.1", 0), (f"horn {3 - top}", "pad1.2", 0))
            ).findings
            if finding.what == "out of seating order"
        )
        for top in (1, 2)
    )
    chairs = 2  # from horn 1 to horn 2: horn 3 sits between
    assert usual + chairs * data.tables.rule("seating")["weights"]["chair"] == swapped > usual


def test_inner_parts_are_the_seconds_before_the_first_have_any() -> None:
    under = strand("s2", "inner", line("s2.1", "G4 G4 G4 G4"), line("s2.2", "D4 D4 D4 D4"))
    tune = strand("s1", "melody", line("s1.1", "C6 D6 E6 D6"))
    data = problem(players("flute", "violin", "violin"), tune, under)

    def found(*wanted: tuple[str, str, int]) -> set[str]:
        return {finding.what for finding in report(seating, data, taken(data, *wanted)).findings}

    idle, above = "the second rests under the first", "the second lies above the first"
    assert idle in found(("violin 1", "s2.1", 0))
    assert idle not in found(("violin 2", "s2.1", 0))
    both = found(("violin 1", "s2.1", 0), ("violin 2", "s2.2", 0))
    assert not both & {idle, above}
    assert above in found(("violin 1", "s2.2", 0), ("violin 2", "s2.1", 0))
    melody = found(("violin 1", "s1.1", 0))
    assert not melody & {idle, above}, "a tune is the first's to have alone"


def test_nobody_divides_beside_a_section_that_could_have_the_other_half() -> None:
    under = strand("s2", "inner", line("s2.1", "G4 G4 G4 G4"), line("s2.2", "D4 D4 D4 D4"))
    data = problem(
        players("violin", "violin", "viola"), strand("s1", "melody", line("s1.1", "C6 D6 E6 D6")), under, bars=1
    )
    halves = {
        o.index
        for o in data.options
        if data.players[o.player].name == "viola" and o.share < 12 and len(o.lines) == 1 and not o.octave
    }
    assert len({data.options[k].lines for k in halves}) == 2

    def pays(*wanted: tuple[str, str, int]) -> bool:
        chosen = halves | taken(data, *wanted)
        return "a section is divided beside one that rests" in {
            finding.what for finding in report(seating, data, chosen).findings
        }

    assert pays(("violin 1", "s1.1", 0))
    assert not pays(("violin 1", "s1.1", 0), ("violin 2", "s2.1", 0))


def pair(*wanted: tuple[str, str, int]) -> dict[str, int]:
    """What two oboes with inner parts a fourth apart, beside a clarinet, are charged, by reason."""
    inner = strand("s2", "inner", line("s2.1", "G5 G5 G5 G5"), line("s2.2", "D5 D5 D5 D5"))
    data = problem(players("oboe", "oboe", "clarinet_bb"), strand("s1", "melody", line("s1.1", "C6 D6 E6 D6")), inner)
    return {finding.what: finding.cost for finding in report(seating, data, taken(data, *wanted)).findings}


def test_the_second_of_a_pair_plays_with_the_first() -> None:
    what, weights = "the second of a pair plays while the first rests", load_tables().rule("seating")["weights"]
    assert pair(("oboe 2", "s2.1", 0))[what] == 4 * weights["first_rests"]
    for usual in (
        [("oboe 1", "s2.1", 0)],
        [("oboe 1", "s2.1", 0), ("oboe 2", "s2.2", 0)],
        [("clarinet_bb", "s2.1", 0)],
    ):
        assert what not in pair(*usual)


def test_the_second_of_a_pair_lies_below_the_first() -> None:
    what, weights = "the second of a pair above the first", load_tables().rule("seating")["weights"]
    assert pair(("oboe 2", "s2.1", 0), ("oboe 1", "s2.2", 0))[what] == 4 * weights["pair_crossed"]
    assert what not in pair(("oboe 1", "s2.1", 0), ("oboe 2", "s2.2", 0))
    assert what not in pair(("oboe 1", "s2.1", 0), ("oboe 2", "s2.1", 0))


def over_tune(*wanted: tuple[str, str, int], figure: str = "- C5 C5 -", role: str = "rhythm") -> int:
    """What is charged for moving above the tune of an earlier chair: a bar of off-beats under a tune."""
    tune, beats = strand("s1", "melody", line("s1.1", "E5 F5 G5 E5")), strand("s2", role, line("s2.1", figure))
    data = problem(players("violin", "violin", "oboe"), tune, beats)
    found = report(seating, data, taken(data, *wanted)).findings
    return sum(f.cost for f in found if f.what == "a later chair moves above the tune of an earlier one")


def test_seconds_do_not_move_above_the_tune_of_the_firsts() -> None:
    low, weight = ("violin 1", "s1.1", -1), 4 * load_tables().rule("seating")["weights"]["over_tune"]
    assert over_tune(low, ("violin 2", "s2.1", 0)) == weight
    assert over_tune(low, ("violin 2", "s2.1", 0), figure="- E4 E4 -") == 0, "under it as written"
    assert over_tune(low, ("violin 2", "s2.1", 0), figure="C5 - - -") == 0, "held"
    assert over_tune(low, ("violin 2", "s2.1", 0), role="counterline") == 0
    assert over_tune(low, ("oboe", "s2.1", 0)) == 0, "another instrument"
    assert over_tune(("violin 1", "s1.1", 0), ("violin 2", "s2.1", 0)) == 0
    assert over_tune(("violin 2", "s1.1", -1), ("violin 1", "s2.1", 0)) == 0, "firsts may lie above the seconds' tune"
    assert over_tune(("violin 1", "s1.1", 0), ("violin 2", "s2.1", 1)) == weight, "moved up past it"


def test_few_of_a_section_under_a_soft_voice_are_no_division() -> None:
    whole = line("s1.1", "G4 A4 G4 A4")
    data = problem(players("violin", "viola"), strand("s1", "inner", whole), manners=[Manner("s1", 0, BAR, "half")])

    def cost(*techniques: str) -> int:
        (index,) = (
            o.index for o in data.options if (o.player, o.octave, o.share, o.techniques) == (0, 0, 6, techniques)
        )
        return sum(report(rule, data, frozenset({index})).cost for rule in (seating, playability))

    assert 0 <= cost("half") < cost()
