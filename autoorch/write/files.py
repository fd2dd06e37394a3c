"""A folder of files written whole or not at all: into a temporary sibling, flushed to disk, then renamed into place."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import IO

from autoorch.errors import OutputError

Writer = Callable[[IO[bytes]], None]
"""Writes one file's bytes."""


def refuse(folder: Path, replace: bool = False) -> None:
    """Complain early about a folder that could not be written.

    Raises:
        OutputError: where it is there and may not be replaced, or is something else than a folder.
    """
    if folder.exists() and not folder.is_dir():
        raise OutputError(f"{folder} is a file; name another folder with -o")
    if folder.exists() and not replace:
        raise OutputError(f"{folder} is there already; --replace writes over it, -o names another folder")


def write_folder(folder: Path, files: Mapping[str, Writer], replace: bool = False) -> None:
    """Write all files of a folder, or nothing.

    Args:
        folder: made with its parents; an old one is only taken away once the new one is complete.
        files: name inside the folder ("score.musicxml", "parts/Horn 1.musicxml") -> its writer.
        replace: take the place of a folder that is there.

    Raises:
        OutputError: where the folder is there already, can't be made or the disk is full.
    """
    refuse(folder, replace)
    made = None
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        made = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.parent))
        made.chmod(0o777 & ~_umask())
        for name, writer in files.items():
            path = made / name
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("wb") as file:
                writer(file)
                file.flush()
                os.fsync(file.fileno())
        _into_place(made, folder)
        made = None
    except OSError as error:
        raise OutputError(f"{folder} can't be written: {error.strerror or error}") from error
    finally:
        if made is not None:
            shutil.rmtree(made, ignore_errors=True)


def write_file(path: Path, content: bytes) -> None:
    """Write one file into a folder that is there, whole or not at all.

    Raises:
        OutputError: where it can't be written.
    """
    made = None
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        made = Path(name)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        made.chmod(0o666 & ~_umask())
        made.replace(path)
        made = None
    except OSError as error:
        raise OutputError(f"{path} can't be written: {error.strerror or error}") from error
    finally:
        if made is not None:
            made.unlink(missing_ok=True)


def _into_place(made: Path, folder: Path) -> None:
    """Rename; an old folder steps aside first and comes back if that fails."""
    if not folder.exists():
        made.rename(folder)
        return
    aside = Path(tempfile.mkdtemp(prefix=f".{folder.name}.old.", dir=folder.parent))
    old = aside / folder.name
    folder.rename(old)
    try:
        made.rename(folder)
    except OSError:
        old.rename(folder)
        raise
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
