"""The reading as a file: comes back exactly, and says what an edit broke."""

from __future__ import annotations

from pathlib import Path

import pytest

from autoorch.errors import BriefError
from autoorch.roles import read_reading, read_roles, write_reading
from autoorch.roles.edit import parse_reading
from autoorch.roles.told import reading_text
from tests.roles.support import PIECES, piece, sketch

SKETCH = sketch((0, 1, "C5"), (1, 1, "D5"), (2, 2, "E5"), (0, 4, "C3"), (4, 2, "F5"), (4, 4, "F3"))


@pytest.mark.parametrize("name", [*PIECES, "schubert/Lindenbaum"])
def test_it_comes_back_exactly(name: str, tmp_path: Path) -> None:
    reading = read_roles(piece(name))
    write_reading(reading, piece(name), tmp_path / "reading.toml")
    assert read_reading(tmp_path / "reading.toml", piece(name)) == reading


def test_a_changed_role_wins() -> None:
    text = reading_text(read_roles(SKETCH), SKETCH).replace('role = "bass"', 'role = "pedal"')
    assert "pedal" in {strand.role for strand in parse_reading(text, SKETCH).strands}


CUE = '[[cue]]\nfrom = "1"\nto = "2"\nstaff = 1\ntext = "Hns"\nasks = ["melody prefer Horns"]\n'


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('to = "2"', 'to = "1"', "end after it begins"),
        ("staff = 1", "staff = 3", "on a staff from 0 to 1"),
        ("prefer Horns", "perhaps Horns", "no wish"),
        ("melody prefer", "bars 3, melody prefer", "has its bars in from and to"),
        ("asks = [", "weight = 2.0\nasks = [", "from 0 to 1"),
    ],
)
def test_a_cue_is_checked(old: str, new: str, says: str) -> None:
    text = reading_text(read_roles(SKETCH), SKETCH) + CUE
    assert parse_reading(text, SKETCH).cues[0].directions[0].prefer == ("Horns",)
    with pytest.raises(BriefError, match=says):
        parse_reading(
            text.replace(old, new) if old != 'to = "2"' else text.replace('to = "2"\nstaff', 'to = "1"\nstaff'), SKETCH
        )


def test_chords_follow_each_other() -> None:
    text = reading_text(read_roles(SKETCH), SKETCH)
    first = text.index("[[chord]]")
    later = text[first : text.index("[[", first + 2)]
    with pytest.raises(BriefError, match="put them in order"):
        parse_reading(text.replace(later, later * 2, 1), SKETCH)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('role = "bass"', 'role = "bas"', "must be one of"),
        ("n2(C5)", "", "stands in no line"),
        ("n2(C5)", "n2(D5)", "is C5"),
        ("n2(C5)", "n2(C5) n2(C5)", "leave it in one"),
        ("n2(C5)", "n99", "no note n99"),
        ("n2(C5) n3(D5)", "n3(D5) n2(C5)", "out of order"),
        ('to = "end"', 'to = "77"', "no place of this sketch"),
        ('to = "end"', 'to = "2"', "phrases must run"),
        ('key = "', 'key = "H ', "no key"),
        ('kind = "climax"', 'kind = "top"', "must be one of"),
        ("character_proposed = true", "character_proposed = 1", "must be true or false"),
        ('character = "lyrical"', 'character = "sad"', "must be one of"),
        ('cadence = "', 'cadence = "full ', "must be one of"),
        ('bass = "', 'foreign = ["n99 passing"]\nbass = "', "wants a note of the sketch"),
        ('bass = "', 'foreign = ["n1 lovely"]\nbass = "', "wants a note of the sketch"),
    ],
)
def test_what_an_edit_broke_is_said(old: str, new: str, says: str) -> None:
    text = reading_text(read_roles(SKETCH), SKETCH)
    assert old in text
    with pytest.raises(BriefError, match=says):
        parse_reading(text.replace(old, new, 1), SKETCH)
