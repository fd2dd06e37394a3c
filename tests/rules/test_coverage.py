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
        strand("s2", "inner", line("s2.1", "E4 E4 E4 E4"), line("s2.2", "C4 C4 C4 C4")),
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
