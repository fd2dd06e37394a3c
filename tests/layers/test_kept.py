"""Bars of another draft brought over: cuts of its plan that this one does not have."""

from __future__ import annotations

from autoorch.layers.kept import Passage, fresh_cuts, with_passages
from autoorch.layers.model import Material, PhrasePlan
from tests.support.tiny import line, strand

TUNE = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5 " * 4), cuts=(24,))
BASS = strand("s2", "bass", line("s2.1", "C3 G2 C3 G2 " * 4))
OWN = Material((TUNE, BASS), (PhrasePlan(0, 32, 0.5, "mf"), PhrasePlan(32, 64, 0.5, "mf")), seams=(40,))


def test_an_edge_that_the_material_does_not_have_is_a_cut() -> None:
    there = [("s1", 16), ("s1", 24), ("s2", 24), ("s1", 32), ("s2", 40), ("pad1", 40), ("pad1", 44)]
    assert fresh_cuts(OWN, there, 0, 64) == (16, 24, 44)
    assert fresh_cuts(OWN, there[:2], 0, 64) == (16,), "the tune is cut at 24 itself"
    assert fresh_cuts(OWN, there, 16, 44) == (24,), "the ends of what is kept are seams anyhow"


def test_all_strands_are_cut_at_the_ends_and_cuts_of_a_passage() -> None:
    assert with_passages(OWN, [Passage(0, 32, cuts=(8,)), Passage(48, 64)]).seams == (8, 32, 40, 48)
