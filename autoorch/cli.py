"""The command line: the only module that prints, shows progress and sets exit codes. Heavy imports happen inside commands."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from autoorch.errors import AutoorchError, BriefError

if TYPE_CHECKING:
    from autoorch.pipeline import Result
    from autoorch.solver.solve import Progress


class _Group(click.Group):
    """Expected failures become one line on stderr and exit code 1; `--debug` lets the traceback through."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except AutoorchError as error:
            if ctx.params.get("debug"):
                raise
            click.echo(f"autoorch: {error}", err=True)
            ctx.exit(error.exit_code)
        except KeyboardInterrupt:
            click.echo("autoorch: stopped, nothing is written", err=True)
            ctx.exit(130)


@click.group(cls=_Group, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="autoorch")
@click.option("--debug", is_flag=True, help="Show the traceback of a failure.")
def main(debug: bool) -> None:
    """From a piano sketch to a first full-score draft.

    Example: autoorch draft sketch.musicxml --for romantic
    """


@main.command()
@click.argument("sketches", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="SKETCH...")
@click.option("--for", "lineups", multiple=True, metavar="LINEUP", help="Preset or shorthand, repeatable (romantic).")
@click.option("--brief", "brief_file", type=click.Path(path_type=Path), help="Directions and line-up (TOML).")
@click.option("--reading", "reading_file", type=click.Path(path_type=Path), help="An edited reading.toml.")
@click.option("--intent", type=click.Choice(["faithful", "lean", "full"]), help="How much may be added (full).")
@click.option(
    "--seconds", type=click.FloatRange(1, 3600), default=20.0, show_default=True, help="Effort of the solver."
)
@click.option("--played/--notated", "played", default=None, help="What a MIDI file is (found out, and said).")
@click.option("--constraints", type=click.Path(path_type=Path), help="Own tables, file by file.")
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Folder to write (named after the sketch).")
@click.option("--replace", is_flag=True, help="Replace a folder that is there.")
def draft(
    sketches: tuple[Path, ...],
    lineups: tuple[str, ...],
    brief_file: Path | None,
    reading_file: Path | None,
    intent: str | None,
    seconds: float,
    played: bool | None,
    constraints: Path | None,
    output: Path | None,
    replace: bool,
) -> None:
    """Sketches in, drafts out.

    Example: autoorch draft waltz.musicxml --for "2.2.2.2 - 4.2.3.1 - tmp+1 - hp - str" -o waltz
    """
    from dataclasses import replace as with_

    from autoorch import pipeline
    from autoorch.brief import Brief, read_brief
    from autoorch.interrupt import interruptible
    from autoorch.roles import read_reading
    from autoorch.sketch import read_sketch
    from autoorch.solver.solve import Limits
    from autoorch.tables import load_tables

    tables = load_tables(constraints)
    brief = read_brief(brief_file) if brief_file else Brief()
    if intent:
        brief = with_(brief, intent=intent)
    if reading_file and len(sketches) > 1:
        raise BriefError("--reading goes with one sketch")
    wanted = lineups or (brief.lineup,)
    jobs = [(path, lineup) for path in sketches for lineup in wanted]
    for path, lineup in jobs:
        folder = _folder(path, lineup, output, len(sketches) > 1, len(wanted) > 1)
        pipeline.refuse(folder, replace)
    for path, lineup in jobs:
        folder = _folder(path, lineup, output, len(sketches) > 1, len(wanted) > 1)
        sketch = read_sketch(path, played=played)
        reading = read_reading(reading_file, sketch) if reading_file else None
        bar = _Bar(f"{path.name} for {lineup}")
        with interruptible() as stop:
            result = pipeline.draft(
                sketch,
                lineup,
                brief=brief,
                reading=reading,
                limits=Limits(seconds=seconds),
                tables=tables,
                tell=bar,
                stop=stop,
            )
        bar.close()
        pipeline.write(result, folder, replace=replace)
        _summary(result, folder)


def _folder(path: Path, lineup: str, output: Path | None, many_sketches: bool, many_lineups: bool) -> Path:
    folder = output or Path(path.stem)
    if output and many_sketches:
        folder = folder / path.stem
    return folder / lineup.replace(" ", "-") if many_lineups else folder


class _Bar:
    """Progress of one solve on stderr; silent where stderr is no terminal."""

    def __init__(self, title: str) -> None:
        self.title = title
        self.shown = sys.stderr.isatty()

    def __call__(self, progress: Progress) -> None:
        if self.shown:
            text = f"\r{self.title}: phrase {progress.done} of {progress.total}, cost {progress.cost}, gap {progress.gap:.1%} "
            click.echo(text, err=True, nl=False)

    def close(self) -> None:
        if self.shown:
            click.echo("", err=True)


def _summary(result: Result, folder: Path) -> None:
    """What happened, on one screen."""
    draft_, sketch, reading = result.draft, result.sketch, result.reading
    fates: dict[str, int] = {}
    for fate in draft_.fates:
        fates[fate.fate] = fates.get(fate.fate, 0) + 1
    told = ", ".join(f"{count} {name}" for name, count in fates.items())
    click.echo(
        f"{folder}: {len(sketch.bars)} bars for {result.lineup.name}, {len(result.lineup.players)} players and sections"
    )
    click.echo(
        f"  {draft_.status}, cost {draft_.objective}, gap {draft_.gap:.1%}; {len(sketch.notes)} sketch notes: {told}"
    )
    for title, lines in (
        ("not kept", sketch.lost),
        ("note", sketch.notices + reading.notices + result.material.notices + result.score.notices + draft_.notices),
        ("query", reading.queries),
        ("reduced", draft_.losses),
    ):
        for line in lines[:4]:
            click.echo(f"  {title}: {line}")
        if len(lines) > 4:
            click.echo(f"  {title}: {len(lines) - 4} more in queries.txt")
    click.echo(f"  open {folder / 'score.musicxml'} in a notation program, {folder / 'mockup.mid'} in a sequencer")


@main.command()
@click.argument("sketch", type=click.Path(path_type=Path))
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Folder to write (SKETCH-reading).")
@click.option("--replace", is_flag=True, help="Replace a folder that is there.")
def read(sketch: Path, output: Path | None, replace: bool) -> None:
    """Show the reading: phrases, strands and roles; write reading.toml to edit and give back with draft --reading.

    Example: autoorch read sketch.musicxml -o reading
    """
    from autoorch import pipeline

    folder = output or Path(f"{sketch.stem}-reading")
    known, reading = pipeline.read(sketch, folder, replace=replace)
    click.echo(f"{sketch.name}: {len(known.bars)} bars, {len(known.notes)} notes, {len(reading.strands)} strands")
    for phrase in reading.phrases:
        said = " ".join(part for part in (phrase.label, phrase.dynamic, phrase.character) if part)
        click.echo(f"  phrase from bar {known.bar_at(phrase.start).number}: {said}")
    for strand in reading.strands:
        notes = sum(len(line.notes) for line in strand.lines)
        click.echo(f"  {strand.id} {strand.role} ({strand.texture}): {notes} notes in {len(strand.lines)} lines")
    for title, lines in (("note", known.notices + reading.notices), ("query", reading.queries)):
        for line in lines:
            click.echo(f"  {title}: {line}")
    click.echo(f"edit {folder / 'reading.toml'}, then: autoorch draft {sketch} --reading {folder / 'reading.toml'}")


@main.command()
@click.argument("score", type=click.Path(path_type=Path))
@click.option("--level", type=click.Choice(["professional", "student"]), default="professional", show_default=True)
@click.option("--waive", "waivers", type=click.Path(path_type=Path), help="Accepted findings, with reasons (TOML).")
@click.option("--json", "as_json", is_flag=True, help="Findings as JSON.")
def check(score: Path, level: str, waivers: Path | None, as_json: bool) -> None:
    """Test any MusicXML score against the rules; exit 1 where something is unplayable.

    Example: autoorch check score.musicxml
    """
    from autoorch.check import check as check_score

    report = check_score(score, level=level, waivers=waivers)
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
        "Shorthand: flutes.oboes.clarinets.bassoons - horns.trumpets.trombones.tuba - tmp+percussion - hp.cel - satb - strings"
    )
    click.echo(
        '  such as "2.2.2.2 - 4.2.3.1 - tmp+1 - hp - str" or "3(III=picc).2+ca.2+bcl.2+cbn - 4.3.3.1 - tmp+3 - 14.12.10.8.6"'
    )


def run(arguments: Sequence[str] | None = None) -> None:
    """Entry point for `python -m autoorch`."""
    main(args=arguments, prog_name="autoorch")
