"""Low intervals against the arranging tradition's table (Lowell and Pullig 2003: a minor third no lower than C3)."""

from __future__ import annotations

from autoorch.rules import report, spacing
from autoorch.tables import load_tables
from tests.support.tiny import line, players, problem, strand, taken


def cost(upper: str, lower: str, crotchets: float = 1.0) -> int:
    data = problem(
        players("violin", "cello", "double_bass", "bassoon"),
        strand("s1", "melody", line("s1.1", "C6 C6 C6 C6")),
        strand("s2", "inner", line("s2.1", upper)),
        strand("s3", "bass", line("s3.1", lower, crotchets)),
    )
    return report(spacing, data, taken(data, ("violin", "s1.1", 0), ("bassoon", "s2.1", 0), ("cello", "s3.1", 0))).cost


def test_minor_third_below_c3_is_muddy() -> None:
    assert cost("D3 D3 D3 D3", "B2 B2 B2 B2") > 0
    assert cost("Eb3 Eb3 Eb3 Eb3", "C3 C3 C3 C3") == 0


def test_a_fault_is_charged_for_as_long_as_it_sounds() -> None:
    assert cost("D3 - - -", "B2 B2 B2 B2") * 4 == cost("D3 D3 D3 D3", "B2 B2 B2 B2")
    assert cost("D3 - - -", "B2 B2 B2 B2") == cost("D3 - - -", "B2", 4.0) > 0, "a note that lasts longer"
    assert 0 < low(1) * 4 == low(4), "an inner part below the bass"


def low(crotchets: int) -> int:
    """What an inner part costs that lies under the bass for some crotchets of a bar."""
    data = problem(
        players("cello", "bassoon"),
        strand("s2", "inner", line("s2.1", " ".join(["G3"] * crotchets + ["-"] * (4 - crotchets)))),
        strand("s3", "bass", line("s3.1", "C3 C3 C3 C3")),
    )
    found = report(spacing, data, taken(data, ("bassoon", "s2.1", -1), ("cello", "s3.1", 0))).findings
    return sum(finding.cost for finding in found if finding.what == "an inner part below the bass")


def test_an_octave_is_free_anywhere() -> None:
    assert cost("C3 C3 C3 C3", "C2 C2 C2 C2") == 0


def test_inner_part_moved_below_the_bass_costs() -> None:
    data = problem(
        players("violin", "cello", "double_bass", "bassoon"),
        strand("s1", "melody", line("s1.1", "C6 C6 C6 C6")),
        strand("s2", "inner", line("s2.1", "G3 G3 G3 G3")),
        strand("s3", "bass", line("s3.1", "C3 C3 C3 C3")),
    )
    outer = [("violin", "s1.1", 0), ("cello", "s3.1", 0)]
    kept = report(spacing, data, taken(data, *outer, ("bassoon", "s2.1", 0))).cost
    below = report(spacing, data, taken(data, *outer, ("bassoon", "s2.1", -1))).cost
    assert below > kept


def test_a_chord_keeps_its_order_where_it_is_clear() -> None:
    chord = strand("s2", "rhythm", line("s2.1", "- D4 D4 -"), line("s2.2", "- B3 B3 -"))
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))
    for dynamic, charged in (("p", True), ("ff", False)):
        data = problem(players("horn", "horn"), tune, chord, dynamic=dynamic)
        paid = [
            {f.what for f in report(spacing, data, taken(data, ("horn 1", "s2.1", octave))).findings}
            for octave in (0, -1)
        ]
        assert ["a chord stands upside down" in what for what in paid] == [False, charged]


def test_a_copy_on_the_tune_s_own_pitches_blurs_it_where_it_is_soft_or_where_nobody_has_the_line_at_home() -> None:
    tune, inner = (
        strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")),
        strand("s2", "inner", line("s2.1", "C4 D4 C4 D4")),
    )
    home, copy, what = ("viola", "s2.1", 0), ("oboe", "s2.1", 1), "moved onto the tune's own pitches"
    for dynamic, chosen, charged in (("p", (home, copy), True), ("f", (home, copy), False), ("f", (copy,), True)):
        data = problem(players("violin", "viola", "oboe"), tune, inner, dynamic=dynamic)
        found = report(spacing, data, taken(data, ("violin", "s1.1", 0), *chosen)).findings
        assert (what in [finding.what for finding in found]) is charged


def test_an_octave_with_nothing_in_it_costs_where_it_is_loud() -> None:
    tune, bass = strand("s1", "melody", line("s1.1", "C6 D6 E6 D6")), strand("s3", "bass", line("s3.1", "C3 D3 C3 D3"))
    inner = strand("s2", "inner", line("s2.1", "E4 F4 E4 F4"), line("s2.2", "E5 F5 E5 F5"))
    what = "an empty octave between bass and tune"

    def holes(dynamic: str, *wanted: tuple[str, str, int]) -> int:
        data = problem(players("violin", "viola", "oboe", "cello"), tune, inner, bass, dynamic=dynamic)
        chosen = taken(data, ("violin", "s1.1", 0), ("cello", "s3.1", 0), *wanted)
        return sum(finding.what == what for finding in report(spacing, data, chosen).findings)

    assert holes("f") == 2
    assert holes("f", ("viola", "s2.1", 0)) == 1
    assert holes("f", ("viola", "s2.1", 0), ("oboe", "s2.2", 0)) == 0
    assert holes("mf") == 0
    low = strand("s2", "inner", line("s2.1", "E4 F4 E4 F4"))
    data = problem(players("violin", "cello"), tune, low, bass, dynamic="f")
    found = report(spacing, data, taken(data, ("violin", "s1.1", 0), ("cello", "s3.1", 0))).findings
    assert sum(finding.what == what for finding in found) == 1, "the sketch has nothing in the fifth octave either"


def test_who_lies_above_the_tune_is_free_where_somebody_has_the_tune_up_there() -> None:
    tune, inner = (
        strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")),
        strand("s2", "inner", line("s2.1", "A4 B4 A4 B4")),
    )
    data = problem(players("violin", "flute", "oboe"), tune, inner)
    what, above = "accompaniment above the tune", ("oboe", "s2.1", 1)

    def told(*wanted: tuple[str, str, int]) -> bool:
        return what in {finding.what for finding in report(spacing, data, taken(data, *wanted)).findings}

    assert told(("violin", "s1.1", 0), above)
    assert not told(("violin", "s1.1", 0), ("flute", "s1.1", 1), above)
    assert not told(("violin", "s1.1", 0), ("oboe", "s2.1", 0))


def order(*wanted: tuple[str, str, int]) -> int:
    """What inner parts a fourth and more apart are charged for the order of their families."""
    inner = strand("s2", "inner", line("s2.1", "G5 G5 G5 G5"), line("s2.2", "D5 D5 D5 D5"), line("s2.3", "E4 E4 E4 E4"))
    names = ("flute", "oboe", "clarinet_bb", "horn", "violin", "viola", "trombone", "bass_trombone")
    data = problem(players(*names), strand("s1", "melody", line("s1.1", "C6 D6 E6 D6")), inner)
    found = report(spacing, data, taken(data, *wanted)).findings
    return sum(finding.cost for finding in found if finding.what == "a family out of its order")


def test_a_family_keeps_the_order_of_the_score() -> None:
    weight = 4 * load_tables().rule("spacing")["weights"]["crossed"]
    assert order(("flute", "s2.1", 0), ("oboe", "s2.2", 0), ("clarinet_bb", "s2.3", 0)) == 0
    assert order(("oboe", "s2.1", 0), ("flute", "s2.2", 0)) == weight
    assert order(("viola", "s2.2", 0), ("violin", "s2.3", 0)) == 2 * weight, "the farther the dearer"
    assert order(("bass_trombone", "s2.2", -1), ("trombone", "s2.3", -1)) > 0
    assert order(("viola", "s2.2", 0), ("flute", "s2.3", 0)) == 0, "families have no order among each other"
    assert order(("viola", "s1.1", 0), ("violin", "s2.3", 0)) == 0, "a tune may pass through"
    assert order(("clarinet_bb", "s2.2", 0), ("flute", "s2.3", 0), ("oboe", "s2.3", 0)) == 4 * weight, (
        "two kinds passed"
    )


def test_trumpet_and_tuba_are_charged_once() -> None:
    inner = strand("s2", "inner", line("s2.1", "D4 D4 D4 D4"), line("s2.2", "G3 G3 G3 G3"))
    data = problem(players("trumpet_c", "tuba"), strand("s1", "melody", line("s1.1", "C6 D6 E6 D6")), inner)
    found = report(spacing, data, taken(data, ("tuba", "s2.1", 0), ("trumpet_c", "s2.2", 0))).findings
    own = [finding for finding in found if finding.what == "a family out of its order"]
    weight = 4 * load_tables().rule("spacing")["weights"]["crossed"]
    assert sum(finding.cost for finding in own) == weight
