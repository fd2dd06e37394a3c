"""As many parts as planned; added chords whole or not at all."""

from __future__ import annotations

from autoorch.rules import report, texture
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
