"""First chairs lead; horns 1 and 3 lie high, 2 and 4 low (common practice)."""

from __future__ import annotations

from autoorch.rules import report, seating
from tests.support.tiny import line, players, problem, strand, taken


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
