"""Melody, bass and thirds are kept; the rest has a price."""

from __future__ import annotations

from autoorch.roles.model import Chord
from autoorch.rules import coverage, report
from tests.support.tiny import BAR, line, players, problem, strand, taken

C_MAJOR = Chord(0, BAR, 0, 4, 0, (0, 4, 7))


def test_third_must_be_heard() -> None:
    data = problem(
        players("violin", "viola", "cello"),
        strand("s1", "melody", line("s1.1", "G4 G4 G4 G4")),
        strand("s2", "inner", line("s2.1", "E4", 4.0), line("s2.2", "C4", 4.0)),
        strand("s3", "bass", line("s3.1", "C3 C3 C3 C3")),
        chords=[C_MAJOR],
    )
    outer = [("violin", "s1.1", 0), ("cello", "s3.1", 0)]
    with_third = report(coverage, data, taken(data, *outer, ("viola", "s2.1", 0)))
    with_root = report(coverage, data, taken(data, *outer, ("viola", "s2.2", 0)))
    assert not with_third.broken
    assert with_third.cost > 0  # the repeated root is left out, at a price
    assert any("third" in name for name in with_root.broken)


def test_melody_and_bass_must_be_heard() -> None:
    data = problem(
        players("violin", "cello"),
        strand("s1", "melody", line("s1.1", "G4 G4 G4 G4")),
        strand("s3", "bass", line("s3.1", "C3 C3 C3 C3")),
    )
    alone = report(coverage, data, taken(data, ("violin", "s1.1", 0)))
    assert [name.split("/")[0] for name in alone.broken] == ["bass heard"]


def test_the_lowest_note_at_a_chord_change_is_heard_by_its_name() -> None:
    """Two inner lines without a bass: the lower one begins the chord; a copy of its name in the upper one does as well."""
    for upper, free in (("E4 E4 E4 E4", False), ("C5 C5 C5 C5", True)):
        data = problem(
            players("oboe", "viola", "cello"),
            strand("s1", "melody", line("s1.1", "G5 G5 G5 G5")),
            strand("s2", "inner", line("s2.1", upper), line("s2.2", "C4 C4 C4 C4")),
            chords=[C_MAJOR],
        )
        above = report(coverage, data, taken(data, ("oboe", "s1.1", 0), ("viola", "s2.1", 0))).broken
        below = report(coverage, data, taken(data, ("oboe", "s1.1", 0), ("cello", "s2.2", 0))).broken
        assert ("lowest note" in " ".join(above)) is not free
        assert "lowest note" not in " ".join(below)


def test_a_tendency_note_is_heard_wherever_it_lies() -> None:
    seventh = Chord(0, BAR, 7, 11, 7, (7, 11, 2, 5), (11, 5))
    data = problem(
        players("oboe", "viola", "horn", "cello"),
        strand("s1", "melody", line("s1.1", "D5 D5 D5 D5")),
        strand("s2", "inner", line("s2.1", "B4 B4 B4 B4"), line("s2.2", "F4 F4 F4 F4")),
        strand("s3", "bass", line("s3.1", "G2 G2 G2 G2")),
        chords=[seventh],
    )
    outer = [("oboe", "s1.1", 0), ("cello", "s3.1", 0)]

    def broken(*wanted: tuple[str, str, int]) -> set[str]:
        return {name.split(" heard")[0] for name in report(coverage, data, taken(data, *outer, *wanted)).broken}

    assert broken() == {"third", "tendency note"}
    assert broken(("viola", "s2.1", 0)) == {"tendency note"}
    assert broken(("viola", "s2.1", 0), ("horn", "s2.2", 0)) == set()


def test_what_is_left_out_costs_by_what_it_is_in_its_chord_and_by_how_long_it_lasts() -> None:
    """A free line over C major: its third, its fifth, its root, and a note outside it."""
    weights = problem(players("viola"), strand("s1", "melody", line("s1.1", "C5"))).tables.rule("coverage")["weights"]

    def cost(pitch: str, role: str = "inner", crotchets: float = 1.0) -> int:
        free = strand("s2", role, line("s2.1", pitch, crotchets))
        tune = strand("s1", "melody", line("s1.1", "C6 C6 C6 C6"))
        data = problem(players("violin", "viola"), tune, free, chords=[C_MAJOR])
        return report(coverage, data, taken(data, ("violin", "s1.1", 0))).cost

    assert cost("E4") == weights["third"]
    assert cost("G4") == weights["fifth"]
    assert cost("C4") == weights["repeated_root"]
    assert cost("A4") == weights["other"]
    assert cost("G4", "figure") == weights["fifth"] and cost("A4", "figure") == weights["figure"]
    assert cost("G4", "counterline") == weights["counterline"]
    assert cost("G4", crotchets=2) == 2 * weights["fifth"] and cost("G4", crotchets=4) == 3 * weights["fifth"]
