"""The table of notation is read strictly and says who reads which signs."""

from __future__ import annotations

from pathlib import Path

import pytest

from autoorch.errors import TableError
from autoorch.instruments import DYNAMICS, KINDS
from autoorch.score.idiom import ARPEGGIO, ARTICULATIONS, ORNAMENTS, TECHNICAL
from autoorch.score.notation import notation
from autoorch.tables import load_tables, shipped


def test_every_kind_of_instrument_has_signs_that_can_be_written() -> None:
    house = notation()
    assert set(house.signs) == set(KINDS)
    assert set().union(*house.signs.values()) <= {*ARTICULATIONS, *ORNAMENTS, *TECHNICAL, ARPEGGIO}


def test_a_soft_bow_is_never_shorter_than_a_loud_one() -> None:
    bows = [notation().slurs["bow_s"][dynamic] for dynamic in DYNAMICS]
    assert bows == sorted(bows, reverse=True)


def test_one_set_of_tables_has_one_notation() -> None:
    assert notation() is notation(load_tables())


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("bars_apart = 8", "bars_apart = 0", "rehearsal.bars_apart"),
        ("change = 8 ", "chance = 8 ", "clefs.chance"),
        ('open_from = "mf"', 'open_from = "loud"', "syllables.open_from"),
    ],
)
def test_a_wrong_table_is_told_by_its_key(tmp_path: Path, old: str, new: str, told: str) -> None:
    text = (shipped() / "notation.toml").read_text("utf-8")
    assert text.count(old) == 1
    (tmp_path / "notation.toml").write_text(text.replace(old, new), "utf-8")
    with pytest.raises(TableError, match=told):
        notation(load_tables(tmp_path))
