"""Anyone's score in, findings out: what is unplayable, risky or a matter of style, each with place, figure and source.

Shares the tables with the solver's rules and no code.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from autoorch.check.families import RULES
from autoorch.check.limits import Limits
from autoorch.check.read import read_score
from autoorch.check.report import CheckReport, Finding, Waiver, read_waivers, report
from autoorch.errors import AutoorchError
from autoorch.level import LEVELS
from autoorch.tables import Tables, load_tables

__all__ = ["CheckReport", "Finding", "Waiver", "check", "read_waivers"]


def check(
    path: Path | str,
    *,
    level: str = "professional",
    waivers: Path | str | Sequence[Waiver] | None = None,
    tables: Tables | None = None,
) -> CheckReport:
    """Tests any MusicXML score against all rules of the checker.

    Args:
        path: .musicxml, .xml or .mxl.
        level: "professional", or "student" for narrower limits.
        waivers: a TOML file of accepted findings (see `read_waivers`), or the waivers themselves.
        tables: the trade's tables; the shipped ones where None.
    Raises:
        SketchError: where the file is no MusicXML score.
        TableError: where a table or the waiver file is wrong.
    """
    if level not in LEVELS:
        raise AutoorchError(f"{level!r} is no level; known: {', '.join(LEVELS)}")
    limits = Limits(tables or load_tables(), level)
    accepted = read_waivers(Path(waivers)) if isinstance(waivers, str | Path) else tuple(waivers or ())
    score = read_score(Path(path), limits)
    found = (finding for rule in RULES for finding in rule(score, limits))
    return report(score.file, score.count, found, accepted, score.notices)
