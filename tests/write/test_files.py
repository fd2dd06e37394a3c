"""A folder or a file is written whole or not at all, whatever fails or is killed."""

from __future__ import annotations

import random
from pathlib import Path
from typing import IO

import pytest

from autoorch.errors import OutputError
from autoorch.write.files import Writer, refuse, write_file, write_folder
from tests.benchmarks.kill import FILES, SIZE, broken, kill


def text(words: str) -> Writer:
    def write(file: IO[bytes]) -> None:
        file.write(words.encode())

    return write


def full(file: IO[bytes]) -> None:
    file.write(b"half of")
    raise OSError(28, "No space left on device")


def test_all_files_stand_in_the_folder_and_nothing_beside_it(tmp_path: Path) -> None:
    write_folder(tmp_path / "new" / "out", {"a.txt": text("one"), "parts/b.txt": text("two")})
    assert (tmp_path / "new" / "out" / "a.txt").read_text() == "one"
    assert (tmp_path / "new" / "out" / "parts" / "b.txt").read_text() == "two"
    assert [p.name for p in (tmp_path / "new").iterdir()] == ["out"]


def test_a_failure_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="No space left"):
        write_folder(tmp_path / "out", {"a.txt": text("one"), "b.txt": full})
    assert list(tmp_path.iterdir()) == []


def test_a_writer_that_breaks_leaves_nothing_either(tmp_path: Path) -> None:
    def broken(file: IO[bytes]) -> None:
        raise RuntimeError("a fault of ours")

    with pytest.raises(RuntimeError):
        write_folder(tmp_path / "out", {"a.txt": broken})
    assert list(tmp_path.iterdir()) == []


def test_an_old_folder_is_kept_unless_replaced_and_whole_if_the_new_one_fails(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_folder(out, {"a.txt": text("old"), "stale.txt": text("x")})
    with pytest.raises(OutputError, match="is there already"):
        write_folder(out, {"a.txt": text("new")})
    with pytest.raises(OutputError):
        write_folder(out, {"a.txt": full}, replace=True)
    assert (out / "a.txt").read_text() == "old"
    write_folder(out, {"a.txt": text("new")}, replace=True)
    assert [p.name for p in out.iterdir()] == ["a.txt"]
    assert (out / "a.txt").read_text() == "new"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_file_in_the_way_is_told(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file")
    with pytest.raises(OutputError, match="is a file"):
        refuse(tmp_path / "out", replace=True)
    with pytest.raises(OutputError, match="can't be written"):
        write_folder(tmp_path / "out" / "deeper", {"a.txt": text("one")})


def test_a_killed_writer_leaves_the_old_folder_or_the_new(tmp_path: Path) -> None:
    rng = random.Random(7)
    for number in range(8):
        (tmp_path / str(number)).mkdir()
        assert kill(tmp_path / str(number), rng) == ""
    assert any((tmp_path / str(number) / "out").exists() for number in range(8))


def test_a_half_written_folder_would_be_seen(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_folder(out, {name: text("0000001," * (SIZE // 8)) for name in FILES})
    assert broken(out) == ""
    (out / FILES[0]).write_bytes(b"0000001," * 7)
    assert broken(out) != ""


def test_one_file_is_written_over_whole_or_not_at_all(tmp_path: Path) -> None:
    write_file(tmp_path / "a.html", b"one")
    write_file(tmp_path / "a.html", b"two")
    assert [(p.name, p.read_bytes()) for p in tmp_path.iterdir()] == [("a.html", b"two")]
    with pytest.raises(OutputError, match="can't be written"):
        write_file(tmp_path / "nowhere" / "a.html", b"one")
