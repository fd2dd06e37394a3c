"""Formats that come in by way of music21: the same notes as music21 has, and one clear line for the rest."""

from __future__ import annotations

from pathlib import Path

import pytest

from autoorch.errors import SketchError
from autoorch.sketch import Limits, read_sketch
from tests.sketch.test_musicxml import HOME, heard, ours

TUNE = "X:1\nT:A small tune\nC:Nobody\nM:3/4\nL:1/4\nK:D\n|:D F A|d2 A|(3B/A/G/ F E|D3:|\n"


@pytest.mark.parametrize("name", ["chopin/mazurka06-2", "bach/bwv281"])
def test_humdrum_has_the_same_notes_as_music21(name: str) -> None:
    path = HOME / "corpus" / f"{name}.krn"
    sketch = read_sketch(path)
    attacks, graces, _ = heard(path)
    assert ours(sketch) == (attacks, graces)
    assert sketch.source == "other"
    assert all(staff.hint == "" for staff in sketch.staves)
    assert any("by way of music21 as humdrum" in line for line in sketch.notices)


def test_abc(tmp_path: Path) -> None:
    path = tmp_path / "tune.abc"
    path.write_text(TUNE)
    sketch = read_sketch(path)
    assert (sketch.title, sketch.composer) == ("A small tune", "Nobody")
    assert [n.pitch.midi for n in sketch.notes] == [62, 66, 69, 74, 69, 71, 69, 67, 66, 64, 62]
    assert sketch.notes[5].duration * 3 == sketch.ticks
    assert sketch.bars[-1].repeat_end == 2
    assert {bar.metre for bar in sketch.bars} == {(3, 4)}


@pytest.mark.parametrize(
    ("name", "content", "what"),
    [
        ("two.abc", TUNE + "\n" + TUNE.replace("X:1", "X:2"), "several pieces"),
        ("none.abc", "X:1\nM:4/4\nK:C\n", "no notes"),
        ("none.krn", "**kern\n*-\n", "no notes"),
        ("text.mei", "hello", "can't read it as mei"),
        ("bomb.mei", "<!DOCTYPE m [<!ENTITY a 'b'>]><mei/>", "entities"),
        ("text.capx", "hello", "can't read it as capella"),
        ("half.capx", "PK\x03\x04 hello", "broken archive"),
        ("text.nwc", "hello", "can't read it as noteworthy"),
        ("README.md", "# A project\n\nWords only.\n", "is no score (a text, no MuseData)"),
    ],
)
def test_what_music21_makes_no_sketch_of(tmp_path: Path, name: str, content: str, what: str) -> None:
    path = tmp_path / name
    path.write_text(content)
    with pytest.raises(SketchError) as caught:
        read_sketch(path)
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith(name)
    assert what in str(caught.value)


def test_slow_formats_are_kept_short(tmp_path: Path) -> None:
    path = tmp_path / "tune.abc"
    path.write_text(TUNE)
    with pytest.raises(SketchError, match="at most in this format"):
        read_sketch(path, limits=Limits(other=8 * len(TUNE) - 8))
