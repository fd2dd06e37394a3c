"""Motion between parts against Fux (Gradus ad Parnassum, 1725): a perfect consonance is not entered by similar motion."""

from __future__ import annotations

import pytest

from autoorch.rules import report, voice_leading
from autoorch.rules.voice_leading import moves, parallels
from tests.support.tiny import line, players, problem, strand, taken


@pytest.mark.parametrize(
    ("upper", "lower", "count"),
    [
        ("G4 A4", "C4 D4", 1),  # parallel fifths
        ("C5 D5", "C4 D4", 1),  # parallel octaves
        ("C4 D4", "C4 D4", 1),  # parallel unisons
        ("G4 F4", "C4 D4", 0),  # contrary motion
        ("G4 G4", "C4 D4", 0),  # oblique motion
        ("E4 F4", "C4 D4", 0),  # parallel thirds may go any way
        ("F4 G4", "C4 D4", 0),  # parallel fourths are no perfect consonance between two upper parts
    ],
)
def test_fux(upper: str, lower: str, count: int) -> None:
    first, second = (
        problem(players("violin"), strand("s", "melody", line("s.1", text))).spans[0].lines[0]
        for text in (upper, lower)
    )
    assert parallels(moves(first, second)) == count


def test_fourths_turned_into_fifths_by_an_octave_cost() -> None:
    data = problem(
        players("violin", "viola", "cello"),
        strand("s1", "melody", line("s1.1", "F4 G4 F4 G4")),
        strand("s2", "counterline", line("s2.1", "C4 D4 C4 D4")),
    )
    kept = taken(data, ("violin", "s1.1", 0), ("viola", "s2.1", 0))
    turned = taken(data, ("violin", "s1.1", 0), ("viola", "s2.1", 1))
    assert report(voice_leading, data, kept).cost == 0
    assert report(voice_leading, data, turned).cost > 0


def test_parallels_of_the_sketch_itself_are_its_composer_s() -> None:
    data = problem(
        players("violin", "viola", "cello"),
        strand("s1", "melody", line("s1.1", "G4 A4 G4 A4")),
        strand("s2", "counterline", line("s2.1", "C4 D4 C4 D4")),
    )
    for octave in (0, -1):
        chosen = taken(data, ("violin", "s1.1", 0), ("cello" if octave else "viola", "s2.1", octave))
        assert report(voice_leading, data, chosen).cost == 0


def test_a_strand_of_ours_may_double_in_parallels() -> None:
    ours = strand("pad1", "inner", line("pad1.1", "C4 D4 C4 D4"), layer="harmony", families=("viola",))
    data = problem(players("violin", "viola"), strand("s1", "melody", line("s1.1", "F4 G4 F4 G4")), ours)
    assert report(voice_leading, data, taken(data, ("violin", "s1.1", 0), ("viola", "pad1.1", 0))).cost == 0
    assert not list(voice_leading.costs(data))
