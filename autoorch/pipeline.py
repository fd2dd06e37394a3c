"""The way through the house: a sketch and a brief go in, a finished draft with all its values comes out, then its files."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from io import BytesIO
from pathlib import Path
from typing import IO

from autoorch.brief import LEADING, Brief, in_unison, led
from autoorch.errors import NoDraft, OutputError, SketchError
from autoorch.layers.build import build_material
from autoorch.layers.kept import with_passages
from autoorch.layers.like import with_likes
from autoorch.layers.model import Material
from autoorch.lineup import Lineup, parse_lineup
from autoorch.problem.build import build_problem
from autoorch.problem.data import ProblemData
from autoorch.problem.draft import Draft
from autoorch.roles import read_roles
from autoorch.roles.cues import heeded
from autoorch.roles.model import Reading
from autoorch.roles.sung import sung
from autoorch.roles.told import reading_text
from autoorch.rules import RULES
from autoorch.score.model import Score
from autoorch.score.realise import realise
from autoorch.score.transpose import at_concert_pitch
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Sketch
from autoorch.solver.asked import Asked, options_of
from autoorch.solver.result import choices, make_draft
from autoorch.solver.solve import Limits, Progress, Solution, solve
from autoorch.solver.statements import Statements, gather
from autoorch.solver.stop import Stop
from autoorch.solver.vary import dearest, own_cost, seen, tries, unlike
from autoorch.solver.why import Reason, reasons
from autoorch.tables import Tables, load_tables
from autoorch.write.files import Writer, refuse, write_folder
from autoorch.write.graft import Patch, grafted, kept_bars, seams
from autoorch.write.midi import write_midi
from autoorch.write.moved import moved_csv
from autoorch.write.musicxml import write_musicxml
from autoorch.write.options import options
from autoorch.write.pages import CONCERT, PARTS, SCORE, Pages, scores
from autoorch.write.picture import picture
from autoorch.write.queries import Told, queries, told
from autoorch.write.record import NAME, Record, versions, write_record
from autoorch.write.reread import with_written

__all__ = [
    "Result",
    "again",
    "draft",
    "outputs",
    "parts",
    "problem_of",
    "read",
    "record_of",
    "refuse",
    "several",
    "told_of",
    "write",
]

SCORES = (SCORE, CONCERT)


@dataclass(frozen=True)
class Result:
    """Everything one draft went through, from first to last; `said`: what was solved, where it is at hand."""

    sketch: Sketch
    reading: Reading
    lineup: Lineup
    brief: Brief
    material: Material
    problem: ProblemData
    limits: Limits
    asked: Asked
    solution: Solution
    draft: Draft
    score: Score
    patches: tuple[Patch, ...] = ()
    said: Statements | None = None

    @cached_property
    def reasons(self) -> tuple[Reason, ...]:
        """Why each choice stands."""
        return reasons(self.problem, self.draft, said=self.said or gather(self.problem, RULES + self.asked.rules))


def draft(
    sketch: Path | str | Sketch,
    lineup: str | Lineup | None = None,
    *,
    brief: Brief | None = None,
    reading: Reading | None = None,
    limits: Limits | None = None,
    asked: Asked | None = None,
    tables: Tables | None = None,
    tell: Callable[[Progress], None] = lambda progress: None,
    stop: Stop | None = None,
) -> Result:
    """One draft of one sketch for one line-up.

    Args:
        sketch: a file, or a sketch already read.
        lineup: preset, shorthand, TOML file or a line-up already read; the brief's own where None.
        brief: directions and intent.
        reading: an edited reading; made from the sketch where None.
        limits: effort of the solver.
        asked: what it should keep of other drafts, or how it should differ from them.
        tables: the trade's knowledge; the packaged tables where None.
        tell: called with the progress of the solving.
        stop: once asked, the solving ends with the best it has.

    Raises:
        AutoorchError: with one line for the user.
    """
    tables = tables or load_tables()
    brief = brief or Brief()
    read = sketch if isinstance(sketch, Sketch) else read_sketch(Path(sketch), tables=tables)
    players = lineup if isinstance(lineup, Lineup) else parse_lineup(lineup or brief.lineup, tables)
    understood = reading or read_roles(read, tables)
    brief = with_likes(brief, read, understood, players, tables)
    limits, asked = limits or Limits(), asked or Asked()
    material, problem = _prepared(read, understood, players, brief, asked, tables)
    rules = RULES + asked.rules
    effort = limits if asked.apart is None else seen(problem, limits)
    said = gather(problem, rules)
    solution = solve(problem, said, effort, tell, options_of(problem, asked.start), stop)
    made = make_draft(read, problem, solution, rules)
    score = realise(read, understood, material, players, made, tables)
    return Result(
        read, understood, players, brief, material, problem, limits, asked, solution, made, score, said=said
    )  # fmt: skip


def _prepared(
    sketch: Sketch, reading: Reading, lineup: Lineup, brief: Brief, asked: Asked, tables: Tables
) -> tuple[Material, ProblemData]:
    """What players may get, and every way in which they could."""
    brief, material = _material(sketch, reading, lineup, brief, asked, tables)
    return material, build_problem(sketch, reading, material, lineup, tables, brief, asked.kept)


def _material(
    sketch: Sketch, reading: Reading, lineup: Lineup, brief: Brief, asked: Asked, tables: Tables
) -> tuple[Brief, Material]:
    """The brief with the sketch's own cues and words, which are directions too, and what players may get."""
    brief, missing = heeded(brief, sketch, reading, lineup, tables)
    brief = replace(brief, directions=(*sung(sketch, reading, lineup), *brief.directions))
    brief, nobody = led(brief, lineup)
    material = build_material(sketch, reading, lineup, brief, tables, asked.plan)
    material = replace(material, notices=material.notices + missing + nobody + in_unison(brief, lineup))
    if asked.keep:
        material = with_passages(material, [one.passage for one in asked.keep])
    return brief, material


def problem_of(made: Record, tables: Tables) -> ProblemData:
    """The problem that a record's draft is a solution of."""
    return _prepared(made.sketch, made.reading, made.lineup, made.brief, made.asked, tables)[1]


def again(
    made: Record, tables: Tables | None = None, tell: Callable[[Progress], None] = lambda progress: None
) -> Result:
    """The draft that a record tells of, made again.

    Raises:
        AutoorchError: as `draft`.
    """
    result = draft(
        made.sketch, made.lineup, brief=made.brief, reading=made.reading, limits=made.limits, asked=made.asked,
        tables=tables, tell=tell,
    )  # fmt: skip
    if not made.patches:
        return result
    return replace(result, patches=made.patches, draft=replace(result.draft, notices=made.draft.notices))


def standing(made: Record, tables: Tables) -> Result:
    """A record's draft with all its values, without solving anything again.

    Raises:
        SketchError: where other versions or tables have made it, so that its choices are none of today's problem.
    """
    material, problem = _prepared(made.sketch, made.reading, made.lineup, made.brief, made.asked, tables)
    chosen = options_of(problem, made.draft.choices)
    if choices(problem, chosen) != made.draft.choices:
        raise SketchError("other versions or tables made this draft; make it again", NAME)
    solution = Solution(chosen, made.draft.objective, made.draft.objective - made.draft.bound, 0)
    score = realise(made.sketch, made.reading, material, made.lineup, made.draft, tables)
    return Result(
        made.sketch, made.reading, made.lineup, made.brief, material, problem, made.limits, made.asked, solution,
        made.draft, score, made.patches,
    )  # fmt: skip


def with_bars(result: Result, origin: Mapping[int, Mapping[str, bytes]]) -> Result:
    """The draft with bars (by index) written in its scores as other drafts' files have them: file name -> bytes."""
    patches: list[Patch] = []
    notices: list[str] = []
    for name, score in _scores(result).items():
        free = _bytes(score)
        sources = {bar: files[name] for bar, files in origin.items()}
        own: list[Patch] = []
        for source in {id(data): data for data in sources.values()}.values():
            own += kept_bars(name, free, source, {bar for bar, data in sources.items() if data is source})
        beside, unsaid = seams(name, grafted(free, own), sources, free)
        patches += own + beside
        notices += [text for text in unsaid if text not in notices]
    made = replace(result.draft, notices=result.draft.notices + tuple(notices))
    return replace(result, patches=tuple(patches), draft=made)


def several(count: int, first: Result, tell: Callable[[Progress], None] = lambda progress: None) -> list[Result]:
    """The first draft and up to `count` - 1 more that differ from all before it and cost little more.

    Fewer come back where no more are to be had within the margins of constraints/drafts.toml. A draft led by another family
    may be so dear and so different that it leaves no room for more; then none of the kind is asked for, nor where bars are kept.
    """
    found = _several(count, first, {*LEADING} if first.asked.keep else {first.brief.leading}, tell)
    if len(found) == count or all(one.brief.leading == first.brief.leading for one in found):
        return found
    return max(found, _several(count, first, {*LEADING}, tell), key=len)


def _several(count: int, first: Result, used: set[str], tell: Callable[[Progress], None]) -> list[Result]:
    """As `several`; nobody of `used` is asked to lead."""
    found = [first]
    while len(found) < count:
        most = dearest(first.problem, min((one.draft for one in found), key=own_cost))
        for brief, limits in tries(first.problem, first.brief, first.limits, used):
            kept = [(keep.passage.start, keep.passage.end) for keep in first.asked.keep]
            differ = unlike(first.problem, limits, [one.draft for one in found], kept)
            other = _other(first, brief, limits, replace(first.asked, apart=differ, near=None), most, tell)
            used = used | ({brief.leading} - {first.brief.leading})
            if other is None:
                continue
            all_of = [*found, other]
            cheapest = min((one.draft for one in all_of), key=own_cost)
            if all(own_cost(one.draft) <= dearest(first.problem, cheapest) for one in all_of):
                found = all_of
                break
        else:
            break
    return found


def _other(
    first: Result, brief: Brief, limits: Limits, asked: Asked, most: float, tell: Callable[[Progress], None]
) -> Result | None:
    """Another draft; None where there is none, or as soon as it costs more than `most`."""

    def watch(progress: Progress) -> None:
        tell(progress)
        if progress.cost > most:
            raise NoDraft("it costs too much already")

    try:
        return draft(
            first.sketch, first.lineup, brief=brief, reading=first.reading, limits=limits, asked=asked,
            tables=first.problem.tables, tell=watch,
        )  # fmt: skip
    except NoDraft:
        return None


def record_of(result: Result) -> Record:
    """All that made a draft."""
    return Record(
        result.sketch, result.reading, result.lineup, result.brief, result.limits, result.asked, result.draft,
        versions(), result.problem.tables.digest, result.patches,
    )  # fmt: skip


def outputs(result: Result, pages: Pages | None = None) -> dict[str, Writer]:
    """File name -> writer of each file of a draft; `pages` says which scores and how.

    Bars kept from other drafts stand in the plain full scores to the letter; whatever is written otherwise or played has
    them read back.
    """
    pages, whole = pages or Pages(), _whole(result.score, result.patches)
    literal = () if pages.pairs or not pages.keys else result.patches
    made = write_record(record_of(result), result.problem.tables)
    asked = queries(result.sketch, result.score, told_of(result))
    return {
        **{name: _score_writer(name, score, literal) for name, score in scores(whole, pages).items()},
        "mockup.mid": lambda file: write_midi(whole, file, result.problem.tables),
        "draft.json": lambda file: _put(file, made),
        "queries.txt": lambda file: _put(file, asked),
    }


def told_of(result: Result) -> tuple[Told, ...]:
    """All that composer and copyist should know of a draft: title -> lines."""
    return told(
        result.sketch, result.reading, result.draft, result.score, result.material.notices + result.score.notices,
        options(result.reasons, result.sketch, result.draft, result.score.house),
    )  # fmt: skip


def _whole(score: Score, patches: Sequence[Patch]) -> Score:
    """The score with the bars kept from other drafts."""
    return with_written(score, [(one.part, one.bar, one.text) for one in patches if one.file == SCORE])


def _scores(result: Result) -> dict[str, Score]:
    """File name -> score, transposed and in C."""
    return dict(zip(SCORES, (result.score, at_concert_pitch(result.score)), strict=True))


def _score_writer(name: str, score: Score, patches: Sequence[Patch]) -> Writer:
    """Streams the score, unless some of its bars are to stand as another draft has them."""
    own = [patch for patch in patches if patch.file == name]
    if not own:
        return lambda file: write_musicxml(score, file)
    return lambda file: _put(file, grafted(_bytes(score), own))


def _bytes(score: Score) -> bytes:
    file = BytesIO()
    write_musicxml(score, file)
    return file.getvalue()


def parts(made: Record, keys: bool = True, tables: Tables | None = None) -> dict[str, Writer]:
    """File name -> writer of each part of a finished draft, without solving anything again.

    Raises:
        OutputError: where other versions or tables have made the draft.
    """
    tables = tables or load_tables()
    _, material = _material(made.sketch, made.reading, made.lineup, made.brief, made.asked, tables)
    if lacking := {line for choice in made.draft.choices for line in choice.lines} - set(material.line):
        raise OutputError(f"other versions or tables made this draft ({min(lacking)} is unknown); make it again")
    score = realise(made.sketch, made.reading, material, made.lineup, made.draft, tables)
    found = scores(_whole(score, made.patches), Pages(parts=True, keys=keys))
    return {
        name.removeprefix(f"{PARTS}/"): _score_writer(name, each, ())
        for name, each in found.items()
        if name.startswith(PARTS)
    }


def _put(file: IO[bytes], content: bytes) -> None:
    file.write(content)


def write(result: Result, folder: Path, *, replace: bool = False) -> None:
    """Write a draft's folder, whole or not at all.

    Raises:
        OutputError: where the folder is there already or can't be written.
    """
    write_folder(folder, outputs(result), replace)


def read(
    path: Path, folder: Path, tables: Tables | None = None, *, played: bool | None = None, replace: bool = False
) -> tuple[Sketch, Reading]:
    """Read a sketch and write its reading to `folder`: reading.toml, to be edited and given back, reading.svg to look at.

    Where notes were played in, moved.csv says how far each one was moved.

    Raises:
        AutoorchError: with one line for the user.
    """
    refuse(folder, replace)
    tables = tables or load_tables()
    sketch = read_sketch(path, played=played, tables=tables)
    reading = read_roles(sketch, tables)
    text = reading_text(reading, sketch).encode()
    drawn = picture(sketch, reading)
    files: dict[str, Writer] = {
        "reading.toml": lambda file: _put(file, text),
        "reading.svg": lambda file: _put(file, drawn),
    }
    if sketch.moved:
        files["moved.csv"] = lambda file: _put(file, moved_csv(sketch))
    write_folder(folder, files, replace)
    return sketch, reading
