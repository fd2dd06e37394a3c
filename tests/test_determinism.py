"""The same sketch and the same command give the same bytes, whatever the process, the place and the machine's habits."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
EXAMPLE = ROOT / "examples" / "stone-chapel-chorale" / "sketch.musicxml"

# hash seed, locale, time zone, name of the working folder
PLACES = (
    {"PYTHONHASHSEED": "0", "LC_ALL": "C", "TZ": "UTC"},
    {"PYTHONHASHSEED": "4711", "LC_ALL": "C.UTF-8", "TZ": "Asia/Kathmandu", "LANG": "de_DE.UTF-8"},
)


def _drafted(folder: Path, environment: dict[str, str], *, cores: int) -> dict[str, bytes]:
    """File name -> bytes of a draft made in a process of its own, in that folder, on so many cores."""
    folder.mkdir(parents=True)
    shutil.copy(EXAMPLE, folder / "sketch.musicxml")
    command = [sys.executable, "-m", "autoorch", "draft", "sketch.musicxml", "--for", "chamber", "-o", "out"]
    allowed = sorted(os.sched_getaffinity(0))[:cores] if hasattr(os, "sched_setaffinity") else []
    subprocess.run(
        command,
        cwd=folder,
        env={"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT), **environment},
        check=True,
        capture_output=True,
        timeout=300,
        preexec_fn=(lambda: os.sched_setaffinity(0, allowed)) if allowed else None,
    )
    out = folder / "out"
    return {str(path.relative_to(out)): path.read_bytes() for path in sorted(out.rglob("*")) if path.is_file()}


@pytest.fixture(scope="module")
def drafts(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, bytes]]:
    base = tmp_path_factory.mktemp("same")
    return [
        _drafted(base / name, environment, cores=cores)
        for name, environment, cores in zip(("here", "some where/élse"), PLACES, (1, 64), strict=True)
    ]


def test_the_same_files_are_written(drafts: list[dict[str, bytes]]) -> None:
    assert list(drafts[0]) == list(drafts[1])
    assert {"score.musicxml", "score-concert.musicxml", "mockup.mid", "draft.json"} <= set(drafts[0])


def test_every_file_has_the_same_bytes(drafts: list[dict[str, bytes]]) -> None:
    assert [name for name, data in drafts[0].items() if data != drafts[1][name]] == []


def test_no_file_knows_where_it_was_made(
    drafts: list[dict[str, bytes]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    place = str(tmp_path_factory.getbasetemp()).encode()
    assert [name for name, data in drafts[0].items() if place in data] == []
