"""Every failure a user can cause, as one exception each, with a message that fits on one line."""

from __future__ import annotations


class AutoorchError(Exception):
    """Base of all expected failures; ``str()`` says what, where and what to do, on one line."""

    exit_code = 1


class SketchError(AutoorchError):
    """A sketch (or score) file that can't be read as music."""

    def __init__(self, message: str, file: str = "", bar: str = "") -> None:
        place = ", ".join(part for part in (file, f"bar {bar}" if bar else "") if part)
        super().__init__(f"{place}: {message}" if place else message)
        self.file = file
        self.bar = bar


class TableError(AutoorchError):
    """A row or key of a constraints table that is unknown, missing or absurd."""

    def __init__(self, message: str, file: str = "", key: str = "") -> None:
        place = ", ".join(part for part in (file, key) if part)
        super().__init__(f"{place}: {message}" if place else message)
        self.file = file
        self.key = key


class LineupError(AutoorchError):
    """A line-up that can't be understood or has no such instrument."""


class BriefError(AutoorchError):
    """A brief or an edited reading with unknown keys, players, bars or values."""


class OutputError(AutoorchError):
    """Output that can't be written: the folder is there already, is read-only or the disk is full."""


class NoDraft(AutoorchError):
    """No draft exists under the hard rules.

    Args:
        message: one line for the user.
        core: names of the directions or needs that can't hold together, none of which can be spared.
        ways: sets of directions without which all the others hold.
    """

    def __init__(self, message: str, core: tuple[str, ...] = (), ways: tuple[tuple[str, ...], ...] = ()) -> None:
        super().__init__(message)
        self.core = core
        self.ways = ways
