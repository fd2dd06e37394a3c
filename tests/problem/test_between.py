"""Accompaniment stays between bass and tune where enough players have it there (common practice)."""

from __future__ import annotations

from autoorch.problem.data import ProblemData
from tests.support.tiny import line, players, problem, strand

WINDS = ("flute", "flute", "oboe", "oboe", "clarinet_bb", "clarinet_bb", "horn", "horn", "violin", "viola")


def octaves(data: ProblemData, role: str) -> set[int]:
    return {o.octave for o in data.options if data.role(o) == role}


def cue(*names: str, tune: str = "C5 D5 E5 D5") -> ProblemData:
    inner = strand("s2", "inner", line("s2.1", "G4 G4 G4 G4"))
    return problem(players(*names), strand("s1", "melody", line("s1.1", tune)), inner)


def test_chords_do_not_rise_above_the_tune_where_others_have_them() -> None:
    assert 1 not in octaves(cue(*WINDS), "inner")
    assert 1 in octaves(cue(*WINDS, tune="C6 D6 E6 D6"), "inner")
    assert 1 in octaves(cue(*WINDS), "melody")


def test_few_players_may_cross() -> None:
    assert 1 in octaves(cue("flute", "oboe"), "inner")
