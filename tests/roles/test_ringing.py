"""The notes of a broken chord sound on in the ear: the harmony follows the figure, not each note of the tune over it."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from music21 import corpus

from autoorch.roles.parameters import parameters
from autoorch.roles.read import read_roles
from autoorch.roles.ringing import ringing
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


def test_a_step_takes_the_place_of_what_rang() -> None:
    sketch = make_sketch(["C5:4", figure("C3", "G3", "E4", "G3", "D3", "A3", "F4", "A3")])
    texture = Texture(sketch)
    rings = ringing(texture, {0}, parameters(load_tables())["figure"])
    held = {tone.id: rings[tone.index] for tone in texture.tones if tone.index in rings}
    quarters = {name: (start / sketch.ticks, end / sketch.ticks) for name, (start, end) in held.items()}
    assert (quarters["b0"], quarters["b1"], quarters["b4"]) == ((0.0, 2.0), (0.5, 2.5), (2.0, 4.0))


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
