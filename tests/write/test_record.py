"""The record reads back whole and makes the same bytes again; what is wrong in one is told by its field."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from autoorch import delivery, pipeline
from autoorch.brief import read_brief
from autoorch.errors import SketchError
from autoorch.pipeline import Result
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from autoorch.write.record import drafts_in, otherwise, read_record, write_record

CUE = Path(__file__).resolve().parents[2] / "examples" / "harbour-snow-cue"


@pytest.fixture(scope="module")
def result() -> Result:
    return pipeline.draft(CUE / "sketch.musicxml", brief=read_brief(CUE / "brief.toml"), limits=Limits(seconds=5))


def files(result: Result) -> dict[str, bytes]:
    found = {}
    for name, writer in delivery.outputs(result).items():
        file = io.BytesIO()
        writer(file)
        found[name] = file.getvalue()
    return found


def put(folder: Path, text: bytes) -> Path:
    (folder / "draft.json").write_bytes(text)
    return folder


def test_a_record_reads_back_as_it_was(result: Result, tmp_path: Path) -> None:
    tables = load_tables()
    made = delivery.record_of(result)
    back = read_record(put(tmp_path, write_record(made, tables)), tables)
    assert back == made
    assert back.lineup.players == result.lineup.players
    assert otherwise(back, tables) == ()


def test_the_same_draft_again_byte_for_byte(result: Result, tmp_path: Path) -> None:
    first = files(result)
    back = read_record(put(tmp_path, first["draft.json"]), load_tables())
    assert files(pipeline.again(back)) == first


def test_another_version_or_table_is_told(result: Result, tmp_path: Path) -> None:
    made = delivery.record_of(result)
    old = replace(made, versions={**made.versions, "ortools": "1.0"}, tables="0")
    told = otherwise(old, load_tables())
    assert len(told) == 2
    assert told[0].startswith("ortools was 1.0 and is ")
    assert "tables" in told[1]


def change(path: str, value: Any) -> Callable[[Any], None]:
    def apply(data: Any) -> None:
        *way, last = path.split(".")
        for key in way:
            data = data[int(key) if key.isdigit() else key]
        if value is None:
            del data[last]
        else:
            data[last] = value

    return apply


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        (change("format", 1), "format"),
        (change("brief", None), "brief is missing"),
        (change("sketch.notes.3.pitch", "H4"), "'H4' is no pitch"),
        (change("sketch.notes.3.onset", "4"), "sketch.notes[3].onset: '4' is no whole number"),
        (change("reading.strands.0.colour", "red"), "unknown field colour"),
        (change("reading.key", [0]), "reading.key: 1 values instead of 2"),
        (change("lineup.players.0.instrument", "kazoo"), "kazoo"),
        (change("choices.0.player", True), "choices[0].player: 'True' is no text"),
        (change("limits", None), "limits is missing"),
    ],
)
def test_damage_is_named(result: Result, tmp_path: Path, damage: Callable[[Any], None], said: str) -> None:
    data = json.loads(files(result)["draft.json"])
    damage(data)
    put(tmp_path, json.dumps(data).encode())
    with pytest.raises(SketchError) as caught:
        read_record(tmp_path, load_tables())
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_no_folder_and_no_json_are_told(tmp_path: Path) -> None:
    with pytest.raises(SketchError, match="can't be read"):
        read_record(tmp_path, load_tables())
    with pytest.raises(SketchError, match="no JSON"):
        read_record(put(tmp_path, b"\xff{"), load_tables())
    for text in (b"[]", b'{"format": 0}'):
        with pytest.raises(SketchError, match="is no record of a draft in format"):
            read_record(put(tmp_path, text), load_tables())


def test_a_folder_of_several_drafts_names_them(tmp_path: Path) -> None:
    for name in ("1", "2", "10"):
        (tmp_path / name).mkdir()
        put(tmp_path / name, b"{}")
    assert drafts_in(tmp_path) == [tmp_path / name for name in ("1", "2", "10")]
    assert drafts_in(tmp_path / "2") == [tmp_path / "2"]
    assert drafts_in(tmp_path / "none") == []
    with pytest.raises(SketchError, match=r"holds 3 drafts; name one of them: .*1, .*2, .*10"):
        read_record(tmp_path, load_tables())
