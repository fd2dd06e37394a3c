"""Motion between parts against Fux (Gradus ad Parnassum, 1725): a perfect consonance is not entered by similar motion."""

from __future__ import annotations

import pytest

from autoorch.roles.model import Chord
from autoorch.rules import report, voice_leading
from autoorch.rules.voice_leading import moves, parallels
from tests.support.tiny import BAR, line, players, problem, strand, taken


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


@pytest.mark.parametrize(
    ("role", "inner", "paid"),
    [
        ("inner", "D4 B3 C4", True),  # both lead B to C, and come from other notes
        ("inner", "G4 B3 C4", False),  # the same part
        ("inner", "D4 B3 G3", False),  # goes another way
        ("inner", "D4 D4 C4", False),  # has no leading note
        ("melody", "D4 B3 C4", False),  # a tune may have it
    ],
)
def test_a_set_does_not_resolve_what_another_part_resolves(role: str, inner: str, paid: bool) -> None:
    """Common practice of part-writing; octave copies of one part are none other (Rimsky-Korsakov ch. III)."""
    dominant, tonic = (
        Chord(0, BAR // 2, 7, 11, 7, (7, 11, 2), (11,)),
        Chord(BAR // 2, BAR, 0, 4, 0, (0, 4, 7)),
    )
    ours = strand("pad1", "inner", line("pad1.1", "G4 B4 C5"), layer="harmony", families=("horn",), complete=True)
    data = problem(players("viola", "horn"), strand("s2", role, line("s2.1", inner)), ours, chords=(dominant, tonic))
    own, both = taken(data, ("viola", "s2.1", 0)), taken(data, ("viola", "s2.1", 0), ("horn", "pad1.1", 0))
    assert report(voice_leading, data, own).cost == 0
    assert bool(report(voice_leading, data, both).cost) == paid
