"""Levels of players: narrower and slower by the table, kept by the line-up's rows, heard in a draft and its check."""

from __future__ import annotations

from pathlib import Path

import pytest

from autoorch import delivery, pipeline
from autoorch.level import LEVELS, at_level, less, safe_range
from autoorch.lineup import describe, from_rows, level_of, of_level, parse_lineup, rows_of
from autoorch.sketch import read_sketch
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from autoorch.write.record import read_record
from tests.support.opening import opening

TABLES = load_tables()
CUE = Path(__file__).resolve().parents[1] / "examples" / "harbour-snow-cue" / "sketch.musicxml"


@pytest.mark.parametrize("name", ["flute", "horn", "violin", "harp"])
def test_a_student_has_less_by_the_table(name: str) -> None:
    own, table = TABLES.instruments[name], less("student", TABLES)
    assert table is not None
    found = at_level(own, "student", TABLES)
    bottom = 0 if own.family in (*table["bottoms_stay"], *table["as_they_are"]) else table["bottom"]
    top = 0 if own.family in table["as_they_are"] else table["top"]
    assert found.normal == (own.normal[0] + bottom, own.normal[1] - top) == safe_range(own, "student", TABLES)
    assert found.fluency.moving_per_s[0] == own.fluency.moving_per_s[0] * table["speed"] < own.fluency.moving_per_s[0]
    assert (found.fluency.held_s is None) == (own.fluency.held_s is None)
    assert at_level(own, LEVELS[0], TABLES) == own == at_level(own, "", TABLES)


def test_rows_keep_the_level_and_mixed_players_count_as_professionals() -> None:
    lineup = of_level(parse_lineup("2(picc).1.0.0 - tmp+2 - 4.4.3.2.0", TABLES), "student", TABLES)
    rows = rows_of(lineup, TABLES)
    assert [row["level"] for row in rows] == ["student"] * len(lineup.players) != []
    assert from_rows(lineup.name, rows, TABLES) == lineup
    assert lineup.players[1].doubles[0].extreme == TABLES.instruments["piccolo"].normal
    assert level_of(lineup) == "student" and "student" in describe(lineup)
    mixed = from_rows("mixed", [rows[0], rows[2] | {"level": LEVELS[0]}], TABLES)
    assert level_of(mixed) == LEVELS[0] and [player.level for player in mixed.players] == ["student", ""]


def test_a_draft_for_students_stays_in_their_ranges_and_is_made_again(tmp_path: Path) -> None:
    lineup = of_level(parse_lineup("1.1.1.1 - 1.1.0.0 - 3.3.2.2.1", TABLES), "student", TABLES)
    made = pipeline.draft(opening(read_sketch(CUE), 8), lineup, limits=Limits(seconds=2))
    delivery.write(made, tmp_path / "draft")
    record = read_record(tmp_path / "draft", TABLES)
    assert record.lineup == lineup
    for choice in made.draft.choices:
        player = lineup.by_name[choice.player]
        low, high = player.instrument.extreme
        lines = [made.material.line[name] for name in choice.lines]
        notes = [n for line in lines for n in line.notes if choice.start <= n.onset < choice.end]
        assert all(low <= note.pitch.midi + 12 * choice.octave <= high for note in notes)
    assert {choice.player for choice in made.draft.choices}
