"""The notes of a broken chord sound on in the ear: the harmony follows the figure, not each note of the tune over it."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from music21 import corpus

from autoorch.roles.parameters import parameters
from autoorch.roles.read import read_roles
from autoorch.roles.ringing import held_under, ringing, scales
from autoorch.roles.texture import Texture
from autoorch.sketch.read import read_sketch
from autoorch.tables import load_tables
from tests.support.hand import make_sketch


def figure(*pitches: str) -> str:
    return " ".join(f"{pitch}:0.5" for pitch in pitches)


def roots(*lines: str) -> list[list[int | None]]:
    """The roots of each bar."""
    sketch = make_sketch(lines)
    chords = read_roles(sketch).chords
    edges = [*(bar.onset for bar in sketch.bars), sketch.end]
    return [[chord.root for chord in chords if chord.start < b and chord.end > a] for a, b in pairwise(edges)]


def test_passing_notes_of_the_tune_make_no_chords() -> None:
    broken = figure("C3", "G3", "C4", "E4", "E4", "C4", "G3", "C3")
    tune = "E5:2 G5:2 D5:2 C5:2 F5:1 E5:1 D5:1 C5:1 E5:4"
    assert roots(tune, " ".join([broken] * 4)) == [[0]] * 4


def held(*lines: str) -> dict[str, tuple[float, float]]:
    """Quarters from and to which each note is heard that is heard longer than written; the first line is the tune, the
    others are on one staff."""
    sketch = make_sketch(lines, notes={f"c{k}": {"staff": 1} for k in range(4)})
    texture = Texture(sketch)
    table = parameters(load_tables())["figure"]
    rings = held_under(texture, scales(texture, table), ringing(texture, {0}, table))
    return {texture.tones[k].id: (a / sketch.ticks, b / sketch.ticks) for k, (a, b) in rings.items()}


def test_each_pattern_of_a_broken_chord_is_heard_as_one_chord() -> None:
    rings = held("C5:4", figure("C3", "G3", "E4", "G3", "D3", "A3", "F4", "A3"))
    assert {rings[f"b{k}"] for k in range(4)} == {(0.0, 2.0)}
    assert {rings[f"b{k}"] for k in range(4, 8)} == {(2.0, 4.0)}


def test_a_step_takes_the_place_of_what_rang() -> None:
    rings = held("C5:4", figure("C3", "G3", "E4", "C4", "G3", "A3", "F4", "A3"))
    assert (rings["b0"], rings["b1"], rings["b2"]) == ((0.0, 4.0), (0.5, 2.5), (1.0, 3.0))


def test_bass_and_chord_in_turn_are_one_harmony() -> None:
    rings = held("E5:4", "C3:1 E4:1 G2:1 F4:1", "-:1 G4:1 -:1 B4:1")
    assert rings["b0"] == rings["b1"] == rings["c1"] == (0.0, 2.0)
    assert rings["b2"] == rings["b3"] == rings["c3"] == (2.0, 4.0)


def test_what_was_struck_governs_while_a_scale_runs_on_alone() -> None:
    run = " ".join(f"{pitch}:0.25" for pitch in "B4 C5 D5 E5 F5 G5 A5 G5 F5 E5 D5 C5 B4 A4 G4 F4".split())
    rings = held(run, "F3:1 -:3", "A3:1 -:3")
    assert rings["b0"] == rings["c0"] == (0.0, 4.0)
    assert roots(f"{run} E4:4", "F3:1 -:3 C3:4", "A3:1 -:3 G3:4") == [[5], [0]]


@pytest.mark.parametrize(
    "line", ["C3:1 D3:1 E3:1 F3:1", figure(*"C3 D3 E3 F3 G3 A3 B3 C4".split()), "C3:1 G3:1 E3:1 G3:1"]
)
def test_slow_notes_and_scales_do_not_ring(line: str) -> None:
    assert not ringing(Texture(make_sketch(["C5:4", line])), {0}, parameters(load_tables())["figure"])


def test_a_prelude_of_broken_chords_has_a_chord_a_bar() -> None:
    """J. S. Bach, Prelude in C, BWV 846 (music21's corpus): I ii42 V65 I vi6 in the books of harmony (from memory)."""
    sketch = read_sketch(Path(corpus.getWork("bach/bwv846")))
    chords = read_roles(sketch).chords
    starts = [bar.onset for bar in sketch.bars[:6]]
    found = [{chord.root for chord in chords if chord.start < b and chord.end > a} for a, b in pairwise(starts)]
    assert found == [{0}, {2}, {7}, {0}, {9}]
