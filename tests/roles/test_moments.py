"""Moments: each kind where a musician would point at it, with its place, strength and what it is."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from autoorch.errors import TableError
from autoorch.roles import read_roles
from autoorch.roles.model import MOMENTS, Moment, Reading
from autoorch.roles.moments import moments_table
from autoorch.sketch.model import Mark
from autoorch.tables import load_tables
from tests.roles.support import PIECES, TICKS, chords, doubled, piece, sketch, with_marks

BASS = [(4.0 * k, 4.0, "C3") for k in range(4)]
SCALE = ("C5", "D5", "E5", "F5", "G5", "A5", "B5")


def of(reading: Reading, kind: str) -> list[Moment]:
    return [moment for moment in reading.moments if moment.kind == kind]


def test_a_run_up_and_its_landing() -> None:
    rows = [(k / 2, 0.5, name) for k, name in enumerate(SCALE)] + [
        (3.5, 4.5, "C6"),
        (8.0, 4.0, "G5"),
        (12.0, 4.0, "E5"),
    ]
    reading = read_roles(sketch(*rows, *BASS, bars=4))
    assert [(m.onset, m.what) for m in of(reading, "run")] == [(0, "up")]
    assert [m.onset for m in of(reading, "landing")] == [round(3.5 * TICKS)]


def test_a_wide_leap_is_at_the_note_that_is_reached() -> None:
    rows = [(0, 4, "C5"), (4, 4, "D5"), (8, 4, "D6"), (12, 4, "C6")]
    reading = read_roles(sketch(*rows, *BASS, bars=4))
    assert [(m.onset, m.what) for m in of(reading, "leap")] == [(8 * TICKS, "12 semitones")]


def test_the_climax_is_the_highest_place_of_the_tune() -> None:
    rows = [(0, 4, "C5"), (4, 4, "E5"), (8, 4, "G5"), (12, 4, "C5")]
    assert [m.onset for m in of(read_roles(sketch(*rows, *BASS, bars=4)), "climax")] == [8 * TICKS]


def test_the_last_chord_and_a_fermata() -> None:
    read = chords("C3 E4 G4 C5", "G3 F4 B4 D5", "C3 E4 G4 C5")
    notes = tuple(replace(n, marks=("fermata",)) if n.onset == 8 * TICKS else n for n in read.notes)
    reading = read_roles(replace(read, notes=notes))
    assert [m.onset for m in of(reading, "last")] == [8 * TICKS]
    assert [m.onset for m in of(reading, "fermata")] == [8 * TICKS]


@pytest.mark.parametrize(("wedge", "count"), [(False, 1), (True, 0)])
def test_a_sudden_dynamic_is_none_where_a_crescendo_leads(wedge: bool, count: int) -> None:
    read = with_marks(chords(*["C3 E4 G4 C5"] * 4), Mark("dynamic", 0, 0, 0, "p"), Mark("dynamic", 96, 96, 0, "ff"))
    if wedge:
        read = replace(read, marks=(Mark("wedge", 0, 96, 0, "crescendo"), *read.marks))
    found = of(read_roles(read), "sudden")
    assert [m.what for m in found] == ["p to ff"] * count


def test_accents_of_everybody_are_a_hit() -> None:
    read = chords("C3 E4 G4 C5", "G3 F4 B4 D5", "C3 E4 G4 C5")
    notes = tuple(replace(n, marks=("accent",)) if n.onset == 4 * TICKS else n for n in read.notes)
    assert [m.onset for m in of(read_roles(replace(read, notes=notes)), "hit")] == [4 * TICKS]


def test_a_theme_that_comes_back_arrives_more_strongly() -> None:
    found = of(read_roles(piece("joplin/maple_leaf_rag")), "arrival")
    by_section = {moment.what: moment.strength for moment in found}
    assert by_section["A"] > by_section["B"] == by_section["C"]


def test_a_new_key_is_named() -> None:
    assert "F major" in {m.what for m in of(read_roles(piece("mozart/k155/movement3")), "key")}


@pytest.mark.parametrize("name", PIECES)
def test_doubling_the_note_values_moves_no_moment(name: str) -> None:
    one, other = (read_roles(read).moments for read in (piece(name), doubled(piece(name))))
    assert [(2 * m.onset, m.kind, m.strength, m.what) for m in one] == [
        (m.onset, m.kind, m.strength, m.what) for m in other
    ]


def test_the_table_has_a_row_for_each_kind(tmp_path: Path) -> None:
    assert set(moments_table(load_tables())["kind"]) == set(MOMENTS)
    text = load_tables().find("moments").read_text("utf-8").replace("[kind.hit]", "[kind.bang]")
    (tmp_path / "moments.toml").write_text(text, "utf-8")
    with pytest.raises(TableError, match="bang"):
        moments_table(load_tables(tmp_path))
