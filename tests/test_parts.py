"""The parts command: the same files as draft --parts writes, and one clear line where it can't."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from autoorch import pipeline
from autoorch.cli import main
from autoorch.errors import OutputError
from autoorch.problem.draft import Choice
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from autoorch.write.files import write_folder
from autoorch.write.pages import Pages
from autoorch.write.record import read_record
from tests.support.hand import make_sketch


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A draft with its parts."""
    path = tmp_path_factory.mktemp("drafts") / "draft"
    sketch = make_sketch(["C5:1 D5:1 E5:1 F5:1 G5:4 -:4", "C4:4 B3:4 C4:4"])
    result = pipeline.draft(sketch, "string quartet", limits=Limits(seconds=1))
    write_folder(path, pipeline.outputs(result, Pages(parts=True)))
    return path


def test_parts_made_again_are_the_same_bytes(folder: Path, tmp_path: Path) -> None:
    done = CliRunner().invoke(main, ["parts", str(folder), "-o", str(tmp_path / "parts")])
    assert (done.exit_code, done.output) == (0, f"{tmp_path / 'parts'}: 4 parts\n")
    names = sorted(path.name for path in (folder / "parts").iterdir())
    assert names == [
        f"{k:02d} {name}.musicxml" for k, name in enumerate(("Violin I", "Violin II", "Viola", "Violoncello"), 1)
    ]
    for name in names:
        assert (tmp_path / "parts" / name).read_bytes() == (folder / "parts" / name).read_bytes()


def test_parts_that_are_there_are_not_written_over_unasked(folder: Path) -> None:
    refused = CliRunner().invoke(main, ["parts", str(folder)])
    assert refused.exit_code == 1 and "--replace" in refused.output
    assert CliRunner().invoke(main, ["parts", str(folder), "--replace"]).exit_code == 0


def test_a_draft_of_other_tables_is_told(folder: Path) -> None:
    tables = load_tables()
    made = read_record(folder, tables)
    strange = replace(made, draft=replace(made.draft, choices=(Choice("Violin I", "s9", ("s9.1",), 0, 0, 4),)))
    with pytest.raises(OutputError, match=r"s9\.1 is unknown"):
        pipeline.parts(strange, tables=tables)
