"""What shows a draft besides its files: only what is asked for, complete and the same every time."""

from __future__ import annotations

import io
from pathlib import Path

import mido
import pytest
from click.testing import CliRunner

from autoorch import delivery, pipeline
from autoorch.cli import main
from autoorch.exhibits import Extras, exhibits
from autoorch.pipeline import Result
from autoorch.solver.solve import Limits
from autoorch.write.pages import Pages

SKETCH = Path(__file__).resolve().parents[1] / "examples" / "stone-chapel-chorale" / "sketch.musicxml"


@pytest.fixture(scope="module")
def made() -> tuple[Result, dict[str, bytes]]:
    """A draft and its files."""
    result = pipeline.draft(SKETCH, "string quartet", limits=Limits(seconds=2))
    files = {}
    for name, writer in delivery.outputs(result, Pages(parts=True)).items():
        file = io.BytesIO()
        writer(file)
        files[name] = file.getvalue()
    return result, files


def test_nothing_is_made_that_is_not_asked_for(made: tuple[Result, dict[str, bytes]]) -> None:
    assert exhibits(*made, Extras()) == {}


def test_score_and_parts_as_pdf_and_the_page_are_the_same_bytes_each_time(
    made: tuple[Result, dict[str, bytes]],
) -> None:
    found = exhibits(*made, Extras(page=True, pdf=True))
    parts = {name.replace(".musicxml", ".pdf") for name in made[1] if name.startswith("parts/")}
    assert len(parts) == 4
    assert set(found) == {"report.html", "score.pdf"} | parts
    assert {data[:5] for name, data in found.items() if name.endswith(".pdf")} == {b"%PDF-"}
    assert exhibits(*made, Extras(page=True, pdf=True)) == found


def test_the_page_tells_what_the_draft_tells(made: tuple[Result, dict[str, bytes]]) -> None:
    page = exhibits(*made, Extras(page=True))["report.html"].decode()
    result = made[0]
    assert f'"objective":{result.draft.objective}' in page
    assert result.draft.costs and all(f'"{rule}"' in page for rule in result.draft.costs)
    assert page.count('id="page-') >= 1


def test_an_uneven_mock_up_takes_the_place_of_the_even_one(made: tuple[Result, dict[str, bytes]]) -> None:
    def starts(data: bytes) -> list[int]:
        track = mido.MidiFile(file=io.BytesIO(data)).tracks[1]
        now, found = 0, []
        for message in track:
            now += message.time
            if message.type == "note_on":
                found.append(now)
        return found

    even = starts(made[1]["mockup.mid"])
    moved = {seed: starts(exhibits(*made, Extras(seed=seed))["mockup.mid"]) for seed in (1, 2)}
    assert len(even) == len(moved[1]) == len(moved[2])
    assert len({tuple(even), tuple(moved[1]), tuple(moved[2])}) == 3
    assert {start % 60 for start in even} == {0}


def test_what_can_not_be_made_is_told_before_the_work_begins(tmp_path: Path) -> None:
    font = tmp_path / "font.sf2"
    font.write_bytes(b"nothing of the kind")
    command = ["draft", str(SKETCH), "-o", str(tmp_path / "out"), "--sound", "--soundfont", str(font)]
    done = CliRunner().invoke(main, command)
    assert done.exit_code == 1
    assert done.stderr.strip() == f"autoorch: {font} is no soundfont (.sf2)"
    assert not (tmp_path / "out").exists()
