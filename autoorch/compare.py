"""Drafts that stand in their folders beside each other: a table for the terminal, a page to look at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from autoorch.check.report import SEVERITIES
from autoorch.delivery import SCORES
from autoorch.errors import BriefError, SketchError
from autoorch.exhibits import bar_seconds, findings
from autoorch.lineup import level_of
from autoorch.lost import lost
from autoorch.pipeline import Result, standing
from autoorch.solver.vary import Solved, apart, label, own_cost
from autoorch.tables import Tables
from autoorch.write.engrave import engrave
from autoorch.write.page.balance import balance
from autoorch.write.page.compare import Shown, compare_page
from autoorch.write.page.grid import grid_data
from autoorch.write.page.report import Heard
from autoorch.write.performance import perform
from autoorch.write.record import NAME, Record, drafts_in, read_record

PAGE = "compare.html"
SOUND = "mockup.opus"


@dataclass(frozen=True)
class Beside:
    """One of the drafts.

    Attributes:
        folder: as typed; result: the draft itself.
        score: its score.musicxml; sound: its mock-up as Opus, if it has one.
        tables: those that made it.
    """

    folder: Path
    result: Result
    score: bytes
    sound: bytes | None
    tables: Tables

    @cached_property
    def findings(self) -> Sequence[dict[str, str]]:
        """What the check finds in its score."""
        return findings(self.score, self.tables, level_of(self.result.lineup))

    @property
    def solved(self) -> Solved:
        return self.result.problem, self.result.draft


def beside(folders: Sequence[Path], tables: Tables) -> list[Beside]:
    """The drafts of some folders; a folder of several drafts (1, 2, …) stands for them.

    Raises:
        SketchError: for a folder that holds no draft.
        BriefError: for a single draft, or drafts of other sketches.
    """
    wide = [path for folder in folders for path in drafts_in(folder) or [folder]]
    if len(wide) < 2:
        raise BriefError("compare wants two drafts or more; name their folders, or one that holds several")
    found: list[Beside] = []
    for folder in wide:
        made = read_record(folder, tables)
        if found and made.sketch != found[0].result.sketch:
            raise BriefError(f"{folder} is a draft of another sketch than {wide[0]}; compare drafts of one")
        sound = _read(folder / SOUND) if (folder / SOUND).exists() else None
        found.append(Beside(folder, _standing(folder, made, tables), _read(folder / SCORES[0]), sound, tables))
    return found


def _standing(folder: Path, made: Record, tables: Tables) -> Result:
    try:
        return standing(made, tables)
    except SketchError:
        again = f"autoorch draft {folder / NAME} -o {folder}-again"
        raise BriefError(f"{folder}: other versions or tables made this draft; make it again: {again}") from None


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise SketchError(f"can't be read: {error.strerror}", str(path)) from None


def names(drafts: Sequence[Beside]) -> list[str]:
    """What the drafts are called: the last part of the folder's name, or all of it where that is not enough: two are alike, or
    one is the number of a draft among drafts from elsewhere."""
    short = [one.folder.name for one in drafts]
    elsewhere = len({one.folder.parent for one in drafts}) > 1 and any(name.isdigit() for name in short)
    return [str(one.folder) for one in drafts] if elsewhere or len(set(short)) < len(short) else short


def labels(drafts: Sequence[Beside]) -> list[str]:
    """What sets each apart from the others."""
    return [label(one.solved, [other.solved for other in drafts if other is not one]) for one in drafts]


def differs(drafts: Sequence[Beside]) -> list[str]:
    """How far each is from the first, in words."""
    shares = [apart(drafts[0].solved, one.solved)[0] for one in drafts[1:]]
    return ["–", *(f"{share:.0%} of the spans" for share in shares)]


def table(drafts: Sequence[Beside]) -> str:
    """One row a draft; for those of fewer players than the first, what they have not of it."""
    rows: list[tuple[str, ...]] = [("draft", "line-up", "cost", "gap", "differs", *SEVERITIES, "apart by")]
    for name, one, said, far in zip(names(drafts), drafts, labels(drafts), differs(drafts), strict=True):
        draft = one.result.draft
        counts = [str(sum(found["severity"] == kind for found in one.findings)) for kind in SEVERITIES]
        rows.append((name, one.result.lineup.name, str(own_cost(draft)), f"{draft.gap:.1%}", far, *counts, said))
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = ["  ".join(t.ljust(width) for t, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    players = len(drafts[0].result.lineup.players)
    for name, one, gone in zip(names(drafts), drafts, losses(drafts), strict=True):
        if len(one.result.lineup.players) < players:
            lines += [f"lost in {name}: {line}" for line in gone]
    return "\n".join(lines)


def losses(drafts: Sequence[Beside]) -> list[tuple[str, ...]]:
    """For each draft, what it has not of the first one."""
    sketch = drafts[0].result.sketch
    gone = [lost(sketch, drafts[0].solved, one.solved) for one in drafts[1:]]
    return [(), *(tuple(loss.told(sketch) for loss in losses) for losses in gone)]


def page(drafts: Sequence[Beside]) -> bytes:
    """compare.html."""
    shown = [
        Shown(
            name, str(one.folder), said, far, one.result.draft, _grid(name, one.result), one.findings,
            engrave(one.score, one.result.score.house).pages, _heard(one), gone,
        )
        for name, one, said, far, gone in zip(
            names(drafts), drafts, labels(drafts), differs(drafts), losses(drafts), strict=True
        )
    ]  # fmt: skip
    return compare_page(drafts[0].result.sketch.title or "Untitled", shown)


def _grid(name: str, result: Result) -> dict[str, object]:
    grid = grid_data(
        name, result.sketch, result.reading, result.lineup, result.material, result.draft, result.score, result.reasons,
        balance(result.problem, result.draft.choices),
    )  # fmt: skip
    return grid | {"name": result.lineup.name}


def _heard(one: Beside) -> Heard | None:
    return Heard(one.sound, bar_seconds(perform(one.result.score, one.tables))) if one.sound else None
