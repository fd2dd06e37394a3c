"""Three pages kept as files, reviewed by eye: what the writers make of hand-made scores must not change unnoticed.

`python -m tests.write.test_golden` writes them anew; look at what changed before it is kept.
"""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from lxml import etree

from autoorch.score.condensed import condensed
from autoorch.score.model import Score
from autoorch.score.pairs import paired
from autoorch.score.parts import parts_of
from autoorch.sketch.model import Mark
from autoorch.write.musicxml import write_musicxml
from tests.support.hand import make_score, make_sketch, whole
from tests.support.readback import musicxml2ly_ok
from tests.support.schema import schema_errors
from tests.support.signs import signs_music21, signs_of, signs_verovio
from tests.support.tiny import players
from tests.write.test_musicxml import rich, saved

FOLDER = Path(__file__).resolve().parents[1] / "golden"


def quintet() -> Score:
    """A flute, a horn, a harp, violins in two and a double bass: slurs over a pedal, a tuplet, a grace, a long rest."""
    sketch = make_sketch(
        [
            "E5:1 G5:1/2 F5:1/2 E5:1/3 D5:1/3 C5:1/3 G5:2 A5:2 C6:4 B5:1 A5:1 G5:1 " + "C5:1 D5:1 E5:2 " * 8 + "C5:3",
            "-:1 " + "-:4 " * 8 + "G4:4 Ab4:4 G4:3",
            "-:1 C3:1 G3:1 C4:1 G3:1 C3:1 A3:1 C4:1 A3:1 C3:1 -:1 G2:1 -:1 " + "C3:4 " * 7 + "C3:3",
        ],
        fifths=-3, pickup="1", slurs=[("a0", "a6"), ("a7", "a10")],
        marks=[
            Mark("tempo", 0, 0, -1, "76", "Andante"), Mark("dynamic", 0, 0, 0, "p"), Mark("wedge", 30, 54, 0, "crescendo"),
            Mark("dynamic", 54, 54, 0, "mf"), Mark("pedal", 6, 54, 2, ""), Mark("rehearsal", 102, 102, -1, "A"),
        ],
        notes={"a8": {"duration": 0, "grace": "acciaccatura"}, "a12": {"marks": ("accent",)}, "c8": {"marks": ("staccato",)}},
    )  # fmt: skip
    choices = [
        whole(sketch, "flute", 1), whole(sketch, "horn", 2), whole(sketch, "harp", 1, 3), whole(sketch, "violin", 1, 2),
        whole(sketch, "double_bass", 3),
    ]  # fmt: skip
    return make_score(sketch, players("flute", "horn", "harp", "violin", "double_bass"), choices)


GOLDEN = {
    "quintet": quintet,
    "horn-part": lambda: parts_of(quintet())[1],
    "condensed": lambda: condensed(quintet()),
}


def content(score: Score) -> bytes:
    """The file without what depends on the reader's eye only: blanks between elements."""
    file = io.BytesIO()
    write_musicxml(score, file)
    return normal(file.getvalue())


def normal(data: bytes) -> bytes:
    root = etree.fromstring(data, etree.XMLParser(remove_blank_text=True, load_dtd=False, no_network=True))
    return bytes(etree.tostring(root, pretty_print=True, encoding="utf-8"))


@pytest.mark.parametrize("name", GOLDEN)
def test_the_page_is_the_one_that_was_reviewed(name: str) -> None:
    kept = normal((FOLDER / f"{name}.musicxml").read_bytes()).decode().splitlines()
    assert content(GOLDEN[name]()).decode().splitlines() == kept


@pytest.mark.parametrize("name", GOLDEN)
def test_the_page_is_valid(name: str) -> None:
    assert schema_errors(FOLDER / f"{name}.musicxml") == []


def test_others_count_the_same_signs(tmp_path: Path) -> None:
    """Dynamics, hairpins, slurs, ties, tuplets, graces, in full scores, parts and the condensed score."""
    scores = [rich(), condensed(rich()), quintet(), condensed(quintet()), *parts_of(quintet())]
    for number, score in enumerate(scores):
        path = saved(score, tmp_path, f"{number}.musicxml")
        ours = signs_of(score)
        assert ours["dynamic"] and ours["dynamic"] == signs_music21(path)["dynamic"]
        assert +ours == +signs_verovio(path), score.heading
        assert +signs_of(score, cues=False) == +signs_music21(path), score.heading


@pytest.mark.lilypond
def test_lilypond_converts_them(tmp_path: Path) -> None:
    for number, score in enumerate([paired(rich()), condensed(rich()), *parts_of(quintet())]):
        assert musicxml2ly_ok(saved(score, tmp_path, f"{number}.musicxml"), tmp_path) == ""


if __name__ == "__main__":
    for each, make in GOLDEN.items():
        (FOLDER / f"{each}.musicxml").write_bytes(content(make()))
