"""The way through the house: a sketch and a brief go in, a finished draft with all its values comes out, then its files."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from autoorch.brief import Brief
from autoorch.layers.build import build_material
from autoorch.layers.model import Material
from autoorch.lineup import Lineup, parse_lineup
from autoorch.problem.build import build_problem
from autoorch.problem.data import ProblemData
from autoorch.problem.draft import Draft
from autoorch.roles import read_roles
from autoorch.roles.edit import reading_text
from autoorch.roles.model import Reading
from autoorch.score.model import Score
from autoorch.score.realise import realise
from autoorch.score.transpose import at_concert_pitch
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Sketch
from autoorch.solver.result import make_draft
from autoorch.solver.solve import Limits, Progress, Solution, solve
from autoorch.solver.statements import gather
from autoorch.tables import Tables, load_tables
from autoorch.write.files import Writer, refuse, write_folder
from autoorch.write.midi import write_midi
from autoorch.write.musicxml import write_musicxml
from autoorch.write.queries import queries
from autoorch.write.record import record

__all__ = ["Result", "draft", "outputs", "read", "refuse", "write"]


@dataclass(frozen=True)
class Result:
    """Everything one draft went through, from first to last."""

    sketch: Sketch
    reading: Reading
    lineup: Lineup
    brief: Brief
    material: Material
    problem: ProblemData
    solution: Solution
    draft: Draft
    score: Score


def draft(
    sketch: Path | str | Sketch,
    lineup: str | Lineup | None = None,
    *,
    brief: Brief | None = None,
    reading: Reading | None = None,
    limits: Limits | None = None,
    tables: Tables | None = None,
    tell: Callable[[Progress], None] = lambda progress: None,
) -> Result:
    """One draft of one sketch for one line-up.

    Args:
        sketch: a file, or a sketch already read.
        lineup: preset, shorthand, TOML file or a line-up already read; the brief's own where None.
        brief: directions and intent.
        reading: an edited reading; made from the sketch where None.
        limits: effort of the solver.
        tables: the trade's knowledge; the packaged tables where None.
        tell: called with the progress of the solving.

    Raises:
        AutoorchError: with one line for the user.
    """
    tables = tables or load_tables()
    brief = brief or Brief()
    read = sketch if isinstance(sketch, Sketch) else read_sketch(Path(sketch))
    players = lineup if isinstance(lineup, Lineup) else parse_lineup(lineup or brief.lineup, tables)
    understood = reading or read_roles(read, tables)
    material = build_material(read, understood, players, brief, tables)
    problem = build_problem(read, understood, material, players, tables, brief)
    solution = solve(problem, gather(problem), limits, tell)
    made = make_draft(read, problem, solution)
    score = realise(read, understood, material, players, made)
    return Result(read, understood, players, brief, material, problem, solution, made, score)


def outputs(result: Result, settings: dict[str, Any]) -> dict[str, Writer]:
    """File name -> writer of each file of a draft. `settings` are those that made it and stand nowhere else in it."""
    concert = at_concert_pitch(result.score)
    made = record(result.sketch, result.reading, result.lineup, result.brief, result.draft, settings)
    asked = queries(result.sketch, result.reading, result.draft, result.material.notices + result.score.notices)
    return {
        "score.musicxml": lambda file: write_musicxml(result.score, file),
        "score-concert.musicxml": lambda file: write_musicxml(concert, file),
        "mockup.mid": lambda file: write_midi(result.score, file),
        "draft.json": lambda file: _put(file, made),
        "queries.txt": lambda file: _put(file, asked),
    }


def _put(file: IO[bytes], content: bytes) -> None:
    file.write(content)


def write(result: Result, folder: Path, *, settings: dict[str, Any] | None = None, replace: bool = False) -> None:
    """Write a draft's folder, whole or not at all.

    Raises:
        OutputError: where the folder is there already or can't be written.
    """
    write_folder(folder, outputs(result, settings or {}), replace)


def read(path: Path, folder: Path, *, replace: bool = False) -> tuple[Sketch, Reading]:
    """Read a sketch and write its reading to `folder`/reading.toml, to be edited and given back.

    Raises:
        AutoorchError: with one line for the user.
    """
    refuse(folder, replace)
    sketch = read_sketch(path)
    reading = read_roles(sketch, load_tables())
    text = reading_text(reading, sketch).encode()
    write_folder(folder, {"reading.toml": lambda file: _put(file, text)}, replace)
    return sketch, reading
