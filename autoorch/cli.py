"""The command line: the only module that prints, shows progress and sets exit codes. Heavy imports happen inside commands."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, NoReturn

import click

from autoorch.errors import AutoorchError
from autoorch.switches import CONSTRAINTS, KEYS, METRE, MIDI, REPLACE, TEMPO, drafting

if TYPE_CHECKING:
    from autoorch.jobs import Job


_STOPPED = "autoorch: stopped, nothing is written"
_BY_SIGNAL = 128 + signal.SIGINT
"""What a shell says of a program that Ctrl-C has ended (POSIX, 2.8.2)."""


def _leave() -> NoReturn:
    """End the process from any of its threads; a job writes nothing before it is done."""
    click.echo(_STOPPED, err=True)
    os._exit(_BY_SIGNAL)


class _Group(click.Group):
    """Expected failures become one line on stderr and exit code 1, wrong usage one with exit code 2; `--debug` lets the
    traceback through."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if not args:
            return super().parse_args(ctx, args)  # shows the help
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as error:
            _misused(error, ctx)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except AutoorchError as error:
            if ctx.params.get("debug"):
                raise
            click.echo(f"autoorch: {error}", err=True)
            ctx.exit(error.exit_code)
        except click.UsageError as error:
            _misused(error, ctx)
        except KeyboardInterrupt:
            click.echo(_STOPPED, err=True)
            ctx.exit(_BY_SIGNAL)


def _misused(error: click.UsageError, ctx: click.Context) -> NoReturn:
    """One line: what is wrong, what may have been meant, where all of it is told."""
    asked = error.ctx.command_path if error.ctx else " ".join(filter(None, (ctx.command_path, ctx.invoked_subcommand)))
    near = sorted(getattr(error, "possibilities", None) or ())
    said = f"{error.message.rstrip('.')}; did you mean {' or '.join(near)}?" if near else error.format_message()
    said = said if said.endswith((".", "?")) else f"{said}."
    click.echo(f"autoorch: {said} See {asked} --help", err=True)
    ctx.exit(error.exit_code)


@click.group(cls=_Group, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="autoorch")
@click.option("--debug", is_flag=True, help="Show the traceback of a failure.")
def main(debug: bool) -> None:
    """From a piano sketch to a first full-score draft.

    Example: autoorch draft sketch.musicxml --for romantic
    """


@main.command()
@drafting
def draft(
    workers: int | None,
    scheduler: str,
    resume: bool,
    replace: bool,
    page: bool,
    parts: bool,
    pairs: bool,
    keys: bool,
    pdf: bool,
    sound: bool,
    soundfont: Path | None,
    humanise: int | None,
    modulation: bool,
    **order: Any,
) -> None:
    """Sketches in, drafts out: a folder for each sketch, line-up, intent and leading family that is asked for.

    Example: autoorch draft waltz.musicxml --for "2.2.2.2 - 4.2.3.1 - tmp+1 - hp - str" -o waltz
    """
    from autoorch.exhibits import Extras
    from autoorch.orders import Order, jobs_of
    from autoorch.write.pages import Pages

    extras = Extras(page, pdf, sound, soundfont, humanise, modulation)
    extras.check()
    jobs, told = jobs_of(Order(**order, extras=extras, pages=Pages(parts, pairs, keys)))
    for line in told:
        click.echo(line)
    _work(jobs, workers, scheduler, resume, replace)


def _work(jobs: Sequence[Job], workers: int | None, scheduler: str, resume: bool, replace: bool) -> None:
    """Do the jobs and tell what came of each, in their order; exit 1 where one of several failed."""
    from autoorch.interrupt import interruptible
    from autoorch.jobs import Made, finished, put, run, run_all
    from autoorch.write.files import refuse

    open_jobs = [job for job in jobs if not (resume and finished(job))]
    if len(open_jobs) < len(jobs):
        click.echo(f"{len(jobs) - len(open_jobs)} of {len(jobs)} are finished already")
    for job in open_jobs:
        refuse(job.folder, replace)
    if len(open_jobs) == 1 and not scheduler:
        (job,) = open_jobs
        line = _Line()
        with interruptible(_leave) as stop:
            made = run(job, lambda p: line.show(f"{job.name}: phrase {p.done} of {p.total}, gap {p.gap:.1%}"), stop)
        line.close()
        put(job, made, replace)
        click.echo(made.told)
        _compared(jobs, replace)
        return
    line, told = _Line(), dict[int, str]()
    for index, outcome in run_all(open_jobs, workers or 0, scheduler):
        if isinstance(outcome, Made):
            put(open_jobs[index], outcome, replace)
            told[index] = outcome.told
        line.show(f"{len(told)} of {len(open_jobs)} done, last {open_jobs[index].name}")
        if not isinstance(outcome, Made):
            click.echo(f"autoorch: {open_jobs[index].name}: {outcome}", err=True)
    line.close()
    for index in sorted(told):
        click.echo(told[index])
    failed = {id(job) for index, job in enumerate(open_jobs) if index not in told}
    if told:
        _compared([job for job in jobs if id(job) not in failed], replace)
    if len(told) < len(open_jobs):
        sys.exit(1)


def _compared(jobs: Sequence[Job], replace: bool) -> None:
    from autoorch.jobs import beside_each_other

    for line in beside_each_other(jobs, replace):
        click.echo(line)


class _Line:
    """One line of progress on stderr; silent where stderr is no terminal."""

    def __init__(self) -> None:
        self.shown, self.width = sys.stderr.isatty(), 0

    def show(self, text: str) -> None:
        if self.shown:
            click.echo(f"\r{text:{self.width}}", err=True, nl=False)
            self.width = len(text)

    def close(self) -> None:
        if self.shown and self.width:
            click.echo("", err=True)


@main.command()
@click.argument("sketch", type=click.Path(path_type=Path))
@MIDI
@TEMPO
@METRE
@CONSTRAINTS
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Folder to write (SKETCH-reading).")
@REPLACE
def read(sketch: Path, constraints: Path | None, output: Path | None, replace: bool, **midi: Any) -> None:
    """Show the reading: phrases, chords, roles; write reading.toml to edit and give back, and reading.svg to look at.

    Example: autoorch read sketch.musicxml -o reading
    """
    import shutil

    from autoorch import delivery, told
    from autoorch.sketch import Known
    from autoorch.tables import load_tables
    from autoorch.write.chart import chart
    from autoorch.write.moved import farthest

    folder = output or Path(f"{sketch.stem}-reading")
    known = Known.of(midi["tempo"], midi["metre"])
    tables = load_tables(constraints)
    music, reading = delivery.read(sketch, folder, tables, played=midi["played"], known=known, replace=replace)
    click.echo(f"{sketch.name}: {len(music.bars)} bars, {len(music.notes)} notes, {len(reading.strands)} strands")
    click.echo(chart(music, reading, shutil.get_terminal_size((120, 24)).columns))
    for line in told.of_reading(music, reading):
        click.echo(line)
    if music.moved:
        click.echo(f"  note: {farthest(music)}; every note in {folder / 'moved.csv'}")
    click.echo(f"look at {folder / 'reading.svg'}")
    again = f"autoorch draft {sketch}{told.of_midi(**midi)} --reading {folder / 'reading.toml'}"
    click.echo(f"edit {folder / 'reading.toml'}, then: {again}")


@main.command()
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@click.option("--bar", required=True, metavar="N", help="Bar number as printed.")
@click.option("--player", metavar="NAME", help="Only this player or section.")
@click.option("--instead", "other", metavar="NAME", help="Solve again with this player in the place of --player.")
@click.option("--json", "as_json", is_flag=True, help="Every figure as JSON, with the strands' ids.")
@CONSTRAINTS
def why(folder: Path, bar: str, player: str | None, other: str | None, as_json: bool, constraints: Path | None) -> None:
    """Why players have in a bar what they have, and what another choice would cost.

    Example: autoorch why first-draft --bar 9 --player "Oboe 1" --instead "Clarinet 1"
    """
    from autoorch import ask
    from autoorch.tables import load_tables

    click.echo(ask.why(folder, bar, player, other, load_tables(constraints), as_json))


@main.command()
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
def plan(folder: Path) -> None:
    """The plan of the draft that stands in DIR: how much sounds in each phrase, who leads, who rests.

    Example: autoorch plan first-draft
    """
    from autoorch.layers.chart import chart
    from autoorch.tables import load_tables
    from autoorch.write.record import read_record

    made = read_record(folder, load_tables())
    click.echo(chart(made.sketch, made.draft.plan))


@main.command()
@click.argument("draft", type=click.Path(path_type=Path), metavar="DIR")
@KEYS
@CONSTRAINTS
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Folder to write (DIR/parts).")
@REPLACE
def parts(draft: Path, keys: bool, constraints: Path | None, output: Path | None, replace: bool) -> None:
    """The parts of a draft that stands in DIR: a file a player or section, with cues and long rests.

    Example: autoorch parts waltz
    """
    from autoorch import delivery
    from autoorch.tables import load_tables
    from autoorch.write.files import refuse, write_folder
    from autoorch.write.record import read_record

    tables = load_tables(constraints)
    folder = output or draft / "parts"
    refuse(folder, replace)
    files = delivery.parts(read_record(draft, tables), keys, tables)
    write_folder(folder, files, replace)
    click.echo(f"{folder}: {len(files)} parts")


@main.command()
@click.argument("folders", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="DIR...")
@CONSTRAINTS
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    default=Path("comparison"),
    show_default=True,
    help="Folder to write compare.html in.",
)
@REPLACE
def compare(folders: tuple[Path, ...], constraints: Path | None, output: Path, replace: bool) -> None:
    """Drafts side by side: a table here, and a page to look at, listen to and put a new draft together from.

    Example: autoorch compare first-draft second-draft -o comparison
    """
    from autoorch import compare as comparison
    from autoorch.tables import load_tables
    from autoorch.write.files import refuse, write_folder

    if output.suffix == ".html":
        raise click.UsageError(f"-o names a folder, {comparison.PAGE} is written inside it")
    refuse(output, replace)
    tables = load_tables(constraints)
    drafts = comparison.beside(folders, tables)
    click.echo(comparison.table(drafts))
    content = comparison.page(drafts)
    write_folder(output, {comparison.PAGE: lambda file: _put(file, content)}, replace)
    click.echo(f"open {output / comparison.PAGE} in a browser")


def _put(file: IO[bytes], content: bytes) -> None:
    file.write(content)


@main.command()
@click.argument("score", type=click.Path(path_type=Path), metavar="SCORE|DIR")
@click.option("--level", type=click.Choice(["professional", "student"]), default="professional", show_default=True)
@click.option("--waive", "waivers", type=click.Path(path_type=Path), help="Accepted findings, with reasons (TOML).")
@click.option("--json", "as_json", is_flag=True, help="Findings as JSON.")
def check(score: Path, level: str, waivers: Path | None, as_json: bool) -> None:
    """Test any MusicXML score, or the draft that stands in DIR, against the rules; exit 1 where something is unplayable.

    Example: autoorch check score.musicxml
    """
    from autoorch.check import check as check_score
    from autoorch.exhibits import SCORE

    own = score / SCORE
    report = check_score(own if own.is_file() else score, level=level, waivers=waivers)
    click.echo(report.json() if as_json else report.text())
    if any(finding.severity == "unplayable" for finding in report.findings):
        sys.exit(1)


@main.command()
def lineups() -> None:
    """The presets with their players, and how a line-up is written.

    Example: autoorch lineups
    """
    from autoorch.lineup import describe, parse_lineup, presets
    from autoorch.tables import load_tables

    tables = load_tables()
    for name in presets(tables):
        click.echo(describe(parse_lineup(name, tables)))
    click.echo(
        "Shorthand, groups apart by - or /: flutes.oboes.clarinets.bassoons - horns.trumpets.trombones.tuba - "
        "tmp+percussion - hp.cel - satb - strings"
    )
    click.echo(
        '  such as "2.2.2.2 - 4.2.3.1 - tmp+1 - hp - str" or "3(III=picc).2+ca.2+bcl.2+cbn - 4.3.3.1 - tmp+3 - 14.12.10.8.6"'
    )


def run(arguments: Sequence[str] | None = None) -> None:
    """Entry point for `python -m autoorch`."""
    main(args=arguments, prog_name="autoorch")
