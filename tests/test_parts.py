"""The parts command: the same files as draft --parts writes, and one clear line where it can't."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from lxml import etree

from autoorch import delivery, pipeline
from autoorch.brief import Brief, directed
from autoorch.cli import main
from autoorch.errors import OutputError
from autoorch.jobs import Job, put, run
from autoorch.problem.draft import Choice
from autoorch.revise import revised
from autoorch.score.realise import realise
from autoorch.sketch.model import Mark
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from autoorch.write.files import write_folder
from autoorch.write.graft import parts_of
from autoorch.write.pages import Pages
from autoorch.write.record import read_record
from tests.support.hand import make_sketch


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A draft with its parts."""
    path = tmp_path_factory.mktemp("drafts") / "draft"
    sketch = make_sketch(["C5:1 D5:1 E5:1 F5:1 G5:4 -:4", "C4:4 B3:4 C4:4"])
    result = pipeline.draft(sketch, "string quartet", limits=Limits(seconds=1))
    write_folder(path, delivery.outputs(result, Pages(parts=True)))
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
        delivery.parts(strange, tables=tables)


def test_the_sketch_s_own_cues_count_in_the_parts_too(monkeypatch: pytest.MonkeyPatch) -> None:
    marks = [Mark("words", 0, 0, 0, "Str. con sord.")]
    sketch = make_sketch(["C5:1 D5:1 E5:1 F5:1 G5:4", "C4:4 B3:4"], marks=marks)
    result = pipeline.draft(sketch, "string quartet", limits=Limits(seconds=1))
    assert result.reading.cues
    seen = []
    monkeypatch.setattr(delivery, "realise", lambda *values: seen.append(values[2]) or realise(*values))
    delivery.parts(delivery.record_of(result))
    assert [(material.plan, material.manners, material.seams) for material in seen] == [
        (result.material.plan, result.material.manners, result.material.seams)
    ]
    assert "con_sord" in {manner.technique for manner in result.material.manners if manner.asked}


def test_bars_kept_from_another_draft_stand_in_the_parts_too(tmp_path: Path) -> None:
    sketch = make_sketch(["C5:1 D5:1 E5:1 F5:1 " * 3, "C4:4 B3:4 C4:4"])
    for name, said in (("one", "melody must Violin I"), ("two", "melody must Viola")):
        brief = directed(Brief(), [f"1-3 {said}"])
        result = pipeline.draft(sketch, "string quartet", brief=brief, limits=Limits(seconds=1))
        delivery.write(result, tmp_path / name)
    revision = revised(tmp_path / "one", None, [f"{tmp_path / 'two'}:2-2"], lambda brief: brief, load_tables())
    base = revision.base
    job = Job(
        "next", tmp_path / "next", base.sketch, base.lineup, base.brief, base.reading, Limits(seconds=1), base.asked,
        sources=revision.sources, pages=Pages(parts=True),
    )  # fmt: skip
    put(job, run(job))
    one, two, score = (parts_of((tmp_path / name / "score.musicxml").read_bytes()) for name in ("one", "two", "next"))
    assert [own[1] for own in one.values()] != [own[1] for own in two.values()]
    assert [own[1] for own in score.values()] == [own[1] for own in two.values()], "the bar is kept"
    written = [pitches(text) for own in score.values() for text in own]
    files = sorted((tmp_path / "next" / "parts").iterdir())
    assert [pitches(text) for path in files for own in parts_of(path.read_bytes()).values() for text in own] == written
    again = CliRunner().invoke(main, ["parts", str(tmp_path / "next"), "-o", str(tmp_path / "parts")])
    assert again.exit_code == 0, again.output
    for path in files:
        assert (tmp_path / "parts" / path.name).read_bytes() == path.read_bytes()


def pitches(measure: bytes) -> list[str]:
    """Written pitches of a bar, cues left out."""
    notes = [note for note in etree.fromstring(measure).iter("note") if note.find("cue") is None]
    return ["".join(p.text or "" for p in note.iterfind("pitch/*")) for note in notes]
