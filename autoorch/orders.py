"""What is asked on one command line, made into jobs: a folder for each sketch, line-up, intent and leading family, or the next
draft after one that is there."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from autoorch.brief import Brief, directed, read_brief
from autoorch.errors import BriefError
from autoorch.exhibits import Extras
from autoorch.jobs import Job
from autoorch.lineup import Lineup, of_level, parse_lineup
from autoorch.revise import revised
from autoorch.roles import read_reading
from autoorch.sketch import Known, read_sketch
from autoorch.solver.solve import Limits
from autoorch.tables import Tables, load_tables
from autoorch.write.pages import Pages
from autoorch.write.record import otherwise, read_record


@dataclass(frozen=True, kw_only=True)
class Order:
    """The options of `draft`, by the names that its help gives them.

    Attributes:
        sketches, lineups, brief_file, reading_file, direct, played, tempo, metre: what is to be scored, for whom and how.
        intents, leads, under, until, without: over the brief's own; several intents or leads make several drafts.
        level: of all players, "" for what the line-up says.
        count: drafts of each that differ.
        origin, bars, keeps, holds, edited: drafts to start from (--from, --bars, --keep, --hold, --edited).
        pages, extras: what is written.
        output: folder; named after the sketch where None.
    """

    sketches: tuple[Path, ...] = ()
    lineups: tuple[str, ...] = ()
    brief_file: Path | None = None
    direct: tuple[str, ...] = ()
    reading_file: Path | None = None
    intents: tuple[str, ...] = ()
    leads: tuple[str, ...] = ()
    under: str | None = None
    level: str | None = None
    until: str | None = None
    without: tuple[str, ...] = ()
    count: int = 1
    origin: Path | None = None
    bars: str | None = None
    keeps: tuple[str, ...] = ()
    holds: tuple[str, ...] = ()
    edited: Path | None = None
    seconds: float = 40.0
    played: bool | None = None
    tempo: float | None = None
    metre: str | None = None
    constraints: Path | None = None
    output: Path | None = None
    pages: Pages = field(default_factory=Pages)
    extras: Extras = field(default_factory=Extras)

    def brief(self, before: Brief) -> Brief:
        """The brief, with what the other options say over it; `before` where no file is given."""
        brief = directed(read_brief(self.brief_file) if self.brief_file else before, self.direct)
        without = brief.without + tuple(layer for layer in self.without if layer not in brief.without)
        return replace(brief, under=self.under or brief.under, until=self.until or brief.until, without=without)

    def lineup(self, name: str, tables: Tables) -> Lineup:
        """The players booked by that name, of the level asked for."""
        found = parse_lineup(name, tables)
        return of_level(found, self.level, tables) if self.level else found


def jobs_of(order: Order) -> tuple[list[Job], tuple[str, ...]]:
    """(the jobs in their order, lines to be told before).

    Raises:
        AutoorchError: for options that do not go together, and all that reading the files may say.
    """
    if order.origin or order.keeps:
        return _next(order)
    if order.bars or order.holds or order.edited:
        raise BriefError("--bars, --hold and --edited go with --from DIR, the draft they are of")
    if not order.sketches:
        raise BriefError("name a sketch, or with --from a draft to start from")
    if order.reading_file and len(order.sketches) > 1:
        raise BriefError("--reading goes with one sketch")
    tables = load_tables(order.constraints)
    if records := [path for path in order.sketches if path.suffix == ".json"]:
        if len(order.sketches) > 1 or order.lineups or order.brief_file or order.direct or order.reading_file:
            raise BriefError(f"{records[0]} is made again as it was: give nothing else, or start from it with --from")
        return _again(order, records[0], tables)
    brief = order.brief(Brief())
    wanted = [(name, order.lineup(name, tables)) for name in dict.fromkeys(order.lineups or (brief.lineup,))]
    jobs = []
    for path, own in zip(order.sketches, folder_names(order.sketches), strict=True):
        sketch = read_sketch(path, played=order.played, known=Known.of(order.tempo, order.metre), tables=tables)
        reading = read_reading(order.reading_file, sketch) if order.reading_file else None
        for name, lineup in wanted:
            for varied, variant in variants(brief, order.intents, order.leads):
                folder = order.output or Path(own)
                folder = folder / own if order.output and len(order.sketches) > 1 else folder
                folder = folder / _plain(lineup.name) if len(wanted) > 1 else folder
                title = " ".join(word for word in (path.name, "for", name, variant) if word)
                jobs.append(
                    Job(
                        title, folder / variant if variant else folder, sketch, lineup, varied, reading,
                        Limits(seconds=order.seconds), count=order.count, constraints=order.constraints,
                        extras=order.extras, pages=order.pages,
                    )
                )  # fmt: skip
    folders = [job.folder for job in jobs]
    if twice := next((folder for number, folder in enumerate(folders) if folder in folders[:number]), None):
        raise BriefError(f"{twice} would be written twice; name each sketch, line-up, intent and lead once")
    return jobs, ()


def _again(order: Order, path: Path, tables: Tables) -> tuple[list[Job], tuple[str, ...]]:
    """A draft made again from its record."""
    made = read_record(path, tables)
    told = tuple(f"not as when it was made: {line}; the bytes may differ" for line in otherwise(made, tables))
    folder = order.output or Path("again")
    job = Job(
        str(path), folder, made.sketch, made.lineup, made.brief, made.reading, made.limits, made.asked,
        constraints=order.constraints, again=made, extras=order.extras, pages=order.pages,
    )  # fmt: skip
    return [job], told


def _next(order: Order) -> tuple[list[Job], tuple[str, ...]]:
    """The next draft after one that is there."""
    if order.sketches or order.reading_file:
        raise BriefError("--from and --keep bring sketch and reading; leave SKETCH and --reading out")
    if len(order.lineups) > 1:
        raise BriefError("--from and --keep make one draft; give --for once")
    if len(order.intents) > 1 or len(order.leads) > 1:
        raise BriefError("--from and --keep make one draft; give --intent and --leading once")
    if order.level and not order.lineups:
        raise BriefError("--level with --from or --keep goes with --for, the players who are of it")
    if order.edited and order.lineups:
        raise BriefError("--edited is read for its own players; go on for others from the draft that comes of it")
    if (order.bars or order.holds or order.edited) and not order.origin:
        raise BriefError("--bars, --hold and --edited go with --from DIR, the draft they are of")

    def change(brief: Brief) -> Brief:
        return variants(order.brief(brief), order.intents, order.leads)[0][0]

    tables = load_tables(order.constraints)
    lineup = order.lineup(order.lineups[0], tables) if order.lineups else None
    revision = revised(order.origin, order.bars, order.keeps, change, tables, order.edited, order.holds, lineup)
    base, folder = revision.base, order.output or Path("next-draft")
    job = Job(
        str(folder), folder, base.sketch, base.lineup, base.brief, base.reading, Limits(seconds=order.seconds),
        base.asked, order.count, order.constraints, revision.sources, order.extras, order.pages,
        origins=revision.before,
    )  # fmt: skip
    return [job], revision.told


def folder_names(sketches: Sequence[Path]) -> list[str]:
    """A folder's name for each sketch: its file's without the ending, with as much more as it takes to tell them apart."""
    own = [path.resolve() for path in sketches]
    ways = (
        [path.stem for path in own],
        [f"{path.stem}-{path.suffix[1:]}" for path in own],
        [f"{path.parent.name}-{path.stem}" for path in own],
        [f"{path.parent.name}-{path.stem}-{path.suffix[1:]}" for path in own],
    )
    return next(
        (way for way in ways if len(set(way)) == len(own)), [f"{n}-{path.stem}" for n, path in enumerate(own, 1)]
    )


def _plain(name: str) -> str:
    """A name as a folder's: what may not stand there, or is a nuisance there, becomes a dash."""
    return re.sub(r"[^\w.+()=]+", "-", name).strip("-")


def variants(brief: Brief, intents: Sequence[str], leads: Sequence[str]) -> list[tuple[Brief, str]]:
    """(brief, name of its folder) for each intent and each family in the lead; no name where there is only one."""
    several = len(intents) > 1 or len(leads) > 1
    return [
        (
            replace(brief, intent=intent, leading=lead),
            "-".join(word for word in (intent, lead) if word) if several else "",
        )
        for intent in intents or (brief.intent,)
        for lead in leads or (brief.leading,)
    ]
