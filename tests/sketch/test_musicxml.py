"""MusicXML sketches against music21, an independent reader, on its corpus and its unofficial test suite; hostile files."""

from __future__ import annotations

import warnings
import zipfile
from collections import Counter
from fractions import Fraction
from pathlib import Path

import music21
import pytest

from autoorch.errors import SketchError
from autoorch.sketch import Limits, read_sketch

PIECES = (
    "bach/bwv846.mxl",
    "joplin/maple_leaf_rag.mxl",
    "mozart/k545/movement1_exposition.mxl",
    "schumann_clara/polonaise_op1n1.mxl",
    "schoenberg/opus19/movement2.mxl",
    "verdi/laDonnaEMobile.mxl",
    "cpebach/h186.mxl",
)
HOME = Path(music21.__file__).parent
SUITE = sorted((HOME / "musicxml" / "lilypondTestSuite").glob("*.[xm][mx]*l"))


def sixteenth(place: float | Fraction) -> int:
    """Places to the nearest sixteenth of a quarter: where a file rounds its tuplets, we go by the notation."""
    return round(16 * place)


@pytest.mark.parametrize("name", PIECES)
def test_the_same_notes_as_music21_finds(name: str) -> None:
    path = HOME / "corpus" / name
    sketch = read_sketch(path)
    ours = Counter((sixteenth(Fraction(n.onset, sketch.ticks)), n.pitch.midi) for n in sketch.notes if not n.grace)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        score = music21.converter.parse(path).toSoundingPitch()
    theirs: Counter[tuple[int, int]] = Counter()
    for part in score.parts:
        for element in part.stripTies().flatten().notes:
            if not element.duration.isGrace and "ChordSymbol" not in element.classes:
                theirs.update((sixteenth(element.offset), round(p.ps)) for p in element.pitches)
    assert not ours - theirs
    tied_over = sum((theirs - ours).values())  # ties between voices, which music21 leaves apart
    assert tied_over <= 2


@pytest.mark.parametrize("path", SUITE, ids=lambda path: path.stem)
def test_every_file_of_the_unofficial_suite_is_read_or_refused_in_one_line(path: Path) -> None:
    try:
        sketch = read_sketch(path)
    except SketchError as error:
        assert "\n" not in str(error)
    else:
        assert sketch.notes
        assert all(0 <= note.onset <= sketch.end for note in sketch.notes)


def refused(path: Path, limits: Limits | None = None) -> str:
    with pytest.raises(SketchError) as caught:
        read_sketch(path, limits=limits or Limits())
    assert "\n" not in str(caught.value)
    return str(caught.value)


HEAD = '<?xml version="1.0"?>'
BAR = "<measure number='1'><attributes><divisions>1</divisions></attributes>{}</measure>"
NOTE = "<note><pitch><step>C</step><octave>{}</octave></pitch><duration>{}</duration></note>"


def score(content: str) -> str:
    return (
        f"{HEAD}<score-partwise version='4.0'><part-list><score-part id='P1'><part-name>Piano</part-name></score-part>"
        f"</part-list><part id='P1'>{content}</part></score-partwise>"
    )


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("empty.musicxml", ""),
        ("text.musicxml", "this is no score"),
        ("html.xml", "<html><body/></html>"),
        ("cut.musicxml", score(BAR.format(NOTE.format(4, 4)))[:-40]),
        ("no-notes.musicxml", score(BAR.format(""))),
        ("high.musicxml", score(BAR.format(NOTE.format(40, 4)))),
        ("long-bar.musicxml", score(BAR.format(NOTE.format(4, 10_000)))),
        (
            "bomb.musicxml",
            HEAD
            + "<!DOCTYPE s [<!ENTITY a 'aaaaaaaaaa'>"
            + "".join(f"<!ENTITY a{k} '{f'&a{k - 1};' * 10 if k > 1 else '&a;' * 10}'>" for k in range(1, 9))
            + "]><score-partwise>&a8;</score-partwise>",
        ),
        (
            "outside.musicxml",
            HEAD + "<!DOCTYPE s [<!ENTITY x SYSTEM 'file:///etc/hostname'>]><score-partwise>&x;</score-partwise>",
        ),
    ],
)
def test_hostile_and_broken_files_are_one_clear_line(tmp_path: Path, name: str, content: str) -> None:
    path = tmp_path / name
    path.write_text(content, encoding="utf-8")
    assert name in refused(path)


def test_archives_that_burst_or_hold_nothing(tmp_path: Path) -> None:
    bomb, nothing, broken = (tmp_path / name for name in ("bomb.mxl", "nothing.mxl", "broken.mxl"))
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("score.xml", b"0" * 50_000_000)
    with zipfile.ZipFile(nothing, "w") as archive:
        archive.writestr("../../outside.txt", "no")
    broken.write_bytes(b"PK\x03\x04 and then nothing")
    refused(bomb, Limits(unpacked=1_000_000))
    refused(nothing)
    refused(broken)
    assert not (tmp_path.parent / "outside.txt").exists()


def test_too_many_notes(tmp_path: Path) -> None:
    path = tmp_path / "many.musicxml"
    path.write_text(score(BAR.format(NOTE.format(4, 1) * 50)), encoding="utf-8")
    refused(path, Limits(notes=40))
    assert len(read_sketch(path).notes) == 50


def test_other_formats_come_through_music21(tmp_path: Path) -> None:
    sketch = read_sketch(HOME / "corpus" / "chopin" / "mazurka06-2.krn")
    assert len(sketch.staves) == 2
    assert len(sketch.notes) > 700
    assert sketch.source == "other"
