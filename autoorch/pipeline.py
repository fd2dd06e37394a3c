"""The way through the house: a sketch and a brief go in, a finished draft with all its values comes out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from pathlib import Path

from autoorch.answered import answers
from autoorch.brief import Brief, in_unison, led
from autoorch.errors import SketchError
from autoorch.layers.build import build_material
from autoorch.layers.cue import Cue
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
from autoorch.score.model import Score
from autoorch.score.realise import realise
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Sketch
from autoorch.solver.asked import Asked, options_of
from autoorch.solver.result import choices, make_draft
from autoorch.solver.solve import Limits, Progress, Solution, solve
from autoorch.solver.statements import Statements, gather
from autoorch.solver.stop import Stop
from autoorch.solver.vary import in_windows, seen
from autoorch.solver.why import Ledger, Reason, reasons
from autoorch.tables import Tables, load_tables
from autoorch.write.graft import Patch
from autoorch.write.record import NAME, Record


@dataclass(frozen=True, kw_only=True)
class Setting:
    """What drafts are answers to; `said` is all that the rules say of it, without what one draft is asked besides."""

    sketch: Sketch
    reading: Reading
    lineup: Lineup
    brief: Brief
    problem: ProblemData
    said: Statements

    @property
    def material(self) -> Material:
        """What players may get."""
        return self.problem.material


@dataclass(frozen=True, kw_only=True)
class Result(Setting):
    """Everything one draft went through, from first to last; `written`: its full scores with bars from other drafts."""

    limits: Limits
    asked: Asked
    solution: Solution
    draft: Draft
    score: Score
    patches: tuple[Patch, ...] = ()
    written: Mapping[str, bytes] = field(default_factory=dict, repr=False)

    @cached_property
    def ledger(self) -> Ledger:
        """All that was said, valued on the draft."""
        said = gather(self.problem, self.asked.rules, self.said)
        return Ledger(self.problem, options_of(self.problem, self.draft.choices), said)

    @cached_property
    def reasons(self) -> tuple[Reason, ...]:
        """Why each choice stands."""
        return reasons(self.ledger, self.draft.choices)


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
    brief, asked = brief or Brief(), asked or Asked()
    read = sketch if isinstance(sketch, Sketch) else read_sketch(Path(sketch), tables=tables)
    players = lineup if isinstance(lineup, Lineup) else parse_lineup(lineup or brief.lineup, tables)
    understood = reading or read_roles(read, tables)
    brief = with_likes(brief, read, understood, players, tables)
    return solved(set_up(read, understood, players, brief, asked, tables), limits or Limits(), asked, tell, stop)


def set_up(sketch: Sketch, reading: Reading, lineup: Lineup, brief: Brief, asked: Asked, tables: Tables) -> Setting:
    """Every way in which players could play, and what the rules say of it."""
    problem = _problem(sketch, reading, lineup, brief, asked, tables)
    return Setting(sketch=sketch, reading=reading, lineup=lineup, brief=brief, problem=problem, said=gather(problem))


def solved(
    setting: Setting,
    limits: Limits,
    asked: Asked,
    tell: Callable[[Progress], None] = lambda progress: None,
    stop: Stop | None = None,
) -> Result:
    """A draft of a setting; the arguments and what is raised are those of `draft`."""
    problem = setting.problem
    asked = in_windows(problem, limits, asked)
    said = gather(problem, asked.rules, setting.said)
    effort = limits if asked.apart is None else seen(problem, limits)
    solution = solve(problem, said, effort, tell, options_of(problem, asked.start), stop)
    made = make_draft(setting.sketch, problem, solution, said)
    cue = Cue(setting.sketch, setting.reading, problem.plan, setting.lineup, setting.brief, problem.tables)
    made = replace(made, verdicts=made.verdicts + answers(cue, problem, solution.chosen, made.verdicts))
    return _result(setting, limits, asked, solution, made)


def _result(setting: Setting, limits: Limits, asked: Asked, solution: Solution, made: Draft) -> Result:
    own = {one.name: getattr(setting, one.name) for one in fields(Setting)}
    tables = setting.problem.tables
    score = realise(setting.sketch, setting.reading, setting.material, setting.lineup, made, tables)
    return Result(**own, limits=limits, asked=asked, solution=solution, draft=made, score=score)


def material_of(
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


def _problem(
    sketch: Sketch, reading: Reading, lineup: Lineup, brief: Brief, asked: Asked, tables: Tables
) -> ProblemData:
    brief, material = material_of(sketch, reading, lineup, brief, asked, tables)
    return build_problem(sketch, reading, material, lineup, tables, brief, asked.kept)


def problem_of(made: Record, tables: Tables) -> ProblemData:
    """The problem that a record's draft is a solution of."""
    return _problem(made.sketch, made.reading, made.lineup, made.brief, made.asked, tables)


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
    setting = set_up(made.sketch, made.reading, made.lineup, made.brief, made.asked, tables)
    chosen = options_of(setting.problem, made.draft.choices)
    if choices(setting.problem, chosen) != made.draft.choices:
        raise SketchError("other versions or tables made this draft; make it again", NAME)
    solution = Solution(chosen, made.draft.objective, made.draft.objective - made.draft.bound, 0)
    return replace(_result(setting, made.limits, made.asked, solution, made.draft), patches=made.patches)
