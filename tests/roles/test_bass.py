"""The bass: under broken chords, under crossing hands, beside the tune."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from autoorch.roles.bass import without_twins
from autoorch.roles.read import read_roles
from autoorch.roles.texture import Texture
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Sketch
from tests.support.hand import make_sketch


def of_role(role: str, sketch: Sketch) -> list[str]:
    """The pitches that have the role, in time order."""
    own = {n for s in read_roles(sketch).strands if s.role == role for line in s.lines for n in line.notes}
    return [str(n.pitch) for n in sketch.notes if n.id in own]


def test_a_bass_that_broken_chords_have_bar_by_bar_is_theirs_where_it_lies_close_under_them_too() -> None:
    """In the second bar the figure begins a fourth above its lowest note, in the others a fifth and more."""
    bars = (
        "C3 G3 C4 E4 E4 C4 G3 C4",
        "D3 G3 B3 C4 C4 B3 G3 B3",
        "C3 G3 C4 E4 E4 C4 G3 C4",
        "G2 D3 G3 B3 B3 G3 D3 G3",
    )
    left = " ".join(f"{pitch}:0.5" for bar in bars for pitch in bar.split())
    sketch = make_sketch(["E5:2 G5:2 F5:2 D5:2 C5:2 E5:2 D5:4", left])
    assert of_role("bass", sketch) == ["C3", "D3", "C3", "G2"]


def test_each_pattern_of_a_bar_has_its_bass() -> None:
    """W. A. Mozart's K. 545 begins so: the second bar's lowest note comes with its second pattern."""
    left = " ".join(f"{pitch}:0.5" for pitch in "C4 G4 E4 G4 C4 G4 E4 G4 D4 G4 F4 G4 C4 G4 E4 G4".split())
    sketch = make_sketch(["C5:2 E5:1 G5:1 B4:2 C5:2 A5:2 G5:2 G5:2 E5:2", f"{left} C4:0.5 A4:0.5 F4:0.5 A4:0.5 {left}"])
    assert of_role("bass", sketch)[:4] == ["C4", "C4", "D4", "C4"]


def test_a_hand_that_reaches_under_the_other_has_the_bass() -> None:
    chord = {f"c{k}": {"staff": 1} for k in range(16)} | {f"d{k}": {"staff": 1} for k in range(16)}
    tune = "A5:1 F5:1 D3:1 D2:1"
    lines = (tune, "F3:1 F3:1 F3:1 F3:1", "A3:1 A3:1 A3:1 A3:1", "D4:1 D4:1 D4:1 D4:1")
    sketch = make_sketch([" ".join([line] * 4) for line in lines], notes=chord)
    assert [of_role("bass", sketch).count(pitch) for pitch in ("D3", "D2")] == [4, 4]


def example(name: str) -> tuple[Sketch, dict[str, str]]:
    """One of our sketches, and the role of each of its notes."""
    read = read_sketch(Path(__file__).resolve().parents[2] / "examples" / name / "sketch.musicxml")
    return read, {n: s.role for s in read_roles(read).strands for line in s.lines for n in line.notes}


def test_the_lowest_voice_of_a_chorale_is_its_bass_though_a_chord_stands_over_it() -> None:
    read, role = example("stone-chapel-chorale")
    low = [note.id for note in read.notes if (note.staff, note.voice) == (1, 2)]
    assert len(low) == 35
    assert {role[note] for note in low} == {"bass"}


def test_a_figure_that_slows_down_is_no_bass() -> None:
    """Bar 23 of the snow cue: B2 under F#3 B3 C#4 D4 C#4, the last two as crotchets."""
    read, role = example("harbour-snow-cue")
    inside = [n for n in read.notes if n.staff == 1 and read.bars[22].onset <= n.onset < read.bars[22].end]
    assert [role[n.id] for n in inside] == ["bass", *["figure"] * 5]


def test_the_tune_does_not_go_down_for_a_note_that_is_the_bass() -> None:
    lines = ["-:1 G4:1 A4:1 B4:1", "F3:4", "F3:1 -:3"]
    tones = Texture(make_sketch(lines, notes={"c0": {"staff": 1}})).tones
    bass = [tone for tone in tones if tone.id == "b0"]
    tune = [tone for tone in tones if tone.id != "b0"]
    assert [tone.id for tone in without_twins(tune, bass)] == ["a1", "a2", "a3"]
    own_hand = [replace(tone, staff=0) for tone in tune]
    assert without_twins(own_hand, bass) == own_hand
