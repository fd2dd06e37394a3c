"""The report: order, figures, text, JSON, waivers; levels; the checker's independence of the solver."""

from __future__ import annotations

import ast
import inspect
import json
from pathlib import Path

import pytest

from autoorch.check import CheckReport, check, read_waivers
from autoorch.errors import AutoorchError, TableError
from autoorch.tables import load_tables
from tests.check.tiny import written

FAULTY = (
    ("Flute", "[mf] C5:4|A3:4|C5+E5:4"),
    ("Oboe", "[mf] F6:3 r:1|A3:4|r:4|r:4|C5:4"),
)


def test_findings_are_sorted_and_counted(tmp_path: Path) -> None:
    report = check(written(tmp_path, *FAULTY))
    assert [(f.severity, f.rule, f.bar, f.part) for f in report.findings] == [
        ("unplayable", "range", "2", "Flute"),
        ("unplayable", "range", "2", "Oboe"),
        ("unplayable", "one note at a time", "3", "Flute"),
        ("risky", "range", "1", "Oboe"),
        ("style", "missing dynamic", "5", "Oboe"),
    ]
    assert (report.notes, report.counts) == (7, {"unplayable": 3, "risky": 1, "style": 1})
    last = report.text().splitlines()[-1]
    assert last == "5 findings; 428.57 unplayable per 1,000 notes, 142.86 risky, 142.86 style"


def test_each_finding_says_place_figure_limit_and_source(tmp_path: Path) -> None:
    report = check(written(tmp_path, *FAULTY))
    first = report.findings[0]
    assert (first.beat, first.figure, first.limit) == ("1", "A3", "B3")
    assert first.message == "A3 sounding is below the lowest note of the flute, B3"
    text = report.text()
    for finding in report.findings:
        assert finding.source and text.count(finding.source) == 1
        number = text.split(f"] {finding.source}")[0].rpartition("[")[2]
        assert f"{finding.message} [{number}]\n" in text
        assert "\n" not in finding.message
        assert f"bar {finding.bar}, beat {finding.beat}, {finding.part}: {finding.rule}: " in report.text()


def test_json_holds_the_same(tmp_path: Path) -> None:
    report = check(written(tmp_path, *FAULTY))
    data = json.loads(report.json())
    assert [row["message"] for row in data["findings"]] == [finding.message for finding in report.findings]
    assert (data["notes"], data["counts"]["unplayable"], data["file"]) == (7, 3, "tiny.musicxml")
    assert str(tmp_path) not in report.json()


def test_a_waiver_takes_a_finding_out_and_keeps_its_reason(tmp_path: Path) -> None:
    path = tmp_path / "waivers.toml"
    path.write_text('[[waive]]\nrule = "range"\npart = "Flute"\nbars = "1-2"\nreason = "she has a B flat foot"\n')
    report = check(written(tmp_path, *FAULTY), waivers=path)
    assert [(finding.part, finding.bar, reason) for finding, reason in report.waived] == [
        ("Flute", "2", "she has a B flat foot")
    ]
    assert report.counts == {"unplayable": 2, "risky": 1, "style": 1}
    assert "she has a B flat foot" in report.text()


def test_every_finding_says_how_it_is_waived(tmp_path: Path) -> None:
    score = written(tmp_path, *FAULTY)
    rows = [
        [f"{name} = {json.dumps(value)}" for name, value in row["waive"].items()]
        for row in json.loads(check(score).json())["findings"]
    ]
    path = tmp_path / "waivers.toml"
    path.write_text("\n".join("\n".join(["[[waive]]", *row, 'reason = "heard and liked"']) for row in rows))
    report = check(score, waivers=path)
    assert (len(report.findings), len(report.waived)) == (0, len(rows))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[waive]]\nrule = "range"\n', "reason"),
        ('[[waive]]\nrule = "range"\nreason = " "\n', "wants a reason"),
        ('[[waive]]\nrule = "range"\nreason = "x"\nbar = "2"\n', "unknown key"),
    ],
)
def test_a_waiver_without_reason_or_with_unknown_keys_is_refused(text: str, said: str, tmp_path: Path) -> None:
    path = tmp_path / "waivers.toml"
    path.write_text(text)
    with pytest.raises(TableError, match=said):
        read_waivers(path)


def test_an_unknown_level_is_refused(tmp_path: Path) -> None:
    with pytest.raises(AutoorchError, match="professional, student"):
        check(written(tmp_path, *FAULTY), level="amateur")


def test_limits_are_data(tmp_path: Path) -> None:
    """A table of one's own changes the verdict: here an oboe that reaches F6 safely."""
    mine = tmp_path / "tables"
    mine.mkdir()
    text = load_tables().find("instruments").read_text("utf-8")
    assert text.count('normal = ["Bb3", "E6"]') == 1
    (mine / "instruments.toml").write_text(text.replace('normal = ["Bb3", "E6"]', 'normal = ["Bb3", "F6"]'), "utf-8")
    report = check(written(tmp_path, *FAULTY), tables=load_tables(mine))
    assert report.counts["risky"] == 0


def test_the_checker_shares_no_code_with_the_solver() -> None:
    folder = Path(inspect.getfile(CheckReport)).parent
    allowed = {"check", "errors", "level", "pitch", "power", "tables", "toml", "sketch"}
    used = set()
    for path in folder.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("autoorch."):
                used.add(node.module.split(".")[1])
    assert "check" in used
    assert used <= allowed
