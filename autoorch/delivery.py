"""What a draft is delivered as: scores, parts, mock-up, its record and what is to be told, whole or not at all.

Bars kept from other drafts stand in the plain full scores to the letter; whatever is written otherwise or played has them
read back.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import IO

from autoorch.errors import OutputError
from autoorch.pipeline import Result, material_of
from autoorch.roles import read_roles
from autoorch.roles.model import Reading
from autoorch.roles.told import reading_text
from autoorch.score.model import Score
from autoorch.score.realise import realise
from autoorch.score.transpose import at_concert_pitch
from autoorch.sketch import NOTHING, Known, read_sketch
from autoorch.sketch.model import Sketch
from autoorch.solver.why import reasons
from autoorch.tables import Tables, load_tables
from autoorch.write.files import Writer, refuse, write_folder
from autoorch.write.graft import Patch, grafted, kept_bars, seams
from autoorch.write.midi import write_midi
from autoorch.write.moved import moved_csv
from autoorch.write.musicxml import write_musicxml
from autoorch.write.options import LEADING, options
from autoorch.write.pages import CONCERT, PARTS, SCORE, Pages, scores
from autoorch.write.picture import picture
from autoorch.write.queries import Told, queries, told
from autoorch.write.record import Record, versions, write_record
from autoorch.write.reread import with_written

SCORES = (SCORE, CONCERT)


def with_bars(result: Result, origin: Mapping[int, Mapping[str, bytes]]) -> Result:
    """The draft with bars (by index) written in its scores as other drafts' files have them: file name -> bytes."""
    patches: list[Patch] = []
    notices: list[str] = []
    written: dict[str, bytes] = {}
    for name, score in _scores(result).items():
        free = _bytes(score)
        sources = {bar: files[name] for bar, files in origin.items()}
        own: list[Patch] = []
        for source in {id(data): data for data in sources.values()}.values():
            own += kept_bars(name, free, source, {bar for bar, data in sources.items() if data is source})
        beside, unsaid = seams(name, grafted(free, own), sources, free)
        patches += own + beside
        written[name] = grafted(free, own + beside)
        notices += [text for text in unsaid if text not in notices]
    made = replace(result.draft, notices=result.draft.notices + tuple(notices))
    return replace(result, patches=tuple(patches), written=written, draft=made)


def record_of(result: Result) -> Record:
    """All that made a draft."""
    return Record(
        result.sketch, result.reading, result.lineup, result.brief, result.limits, result.asked, result.draft,
        versions(), result.problem.tables.digest, result.patches,
    )  # fmt: skip


def outputs(result: Result, pages: Pages | None = None) -> dict[str, Writer]:
    """File name -> writer of each file of a draft; `pages` says which scores and how."""
    pages, whole = pages or Pages(), _whole(result.score, result.patches)
    literal = _literal(result) if pages.keys and not pages.pairs else {}
    made = write_record(record_of(result), result.problem.tables)
    asked = queries(result.sketch, result.score, told_of(result))
    return {
        **{name: _score_writer(score) for name, score in scores(whole, pages, literal).items()},
        **{name: _content(content) for name, content in literal.items()},
        "mockup.mid": lambda file: write_midi(whole, file, result.problem.tables),
        "draft.json": _content(made),
        "queries.txt": _content(asked),
    }


def told_of(result: Result) -> tuple[Told, ...]:
    """All that composer and copyist should know of a draft: title -> lines."""
    leading = [choice for choice in result.draft.choices if result.material.strand[choice.strand].role in LEADING]
    return told(
        result.sketch, result.reading, result.draft, result.score, result.material.notices + result.score.notices,
        options(reasons(result.ledger, leading), result.sketch, result.draft, result.score.house), result.material.line,
    )  # fmt: skip


def _whole(score: Score, patches: Sequence[Patch]) -> Score:
    """The score with the bars kept from other drafts."""
    return with_written(score, [(one.part, one.bar, one.text) for one in patches if one.file == SCORE])


def _scores(result: Result) -> dict[str, Score]:
    """File name -> score, transposed and in C."""
    return dict(zip(SCORES, (result.score, at_concert_pitch(result.score)), strict=True))


def _literal(result: Result) -> Mapping[str, bytes]:
    """File name -> the plain full scores that have bars from other drafts."""
    if result.written or not result.patches:
        return result.written
    patches = {name: [patch for patch in result.patches if patch.file == name] for name in SCORES}
    return {name: grafted(_bytes(score), patches[name]) for name, score in _scores(result).items()}


def _score_writer(score: Score) -> Writer:
    return lambda file: write_musicxml(score, file)


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
    _, material = material_of(made.sketch, made.reading, made.lineup, made.brief, made.asked, tables)
    if lacking := {line for choice in made.draft.choices for line in choice.lines} - set(material.line):
        raise OutputError(f"other versions or tables made this draft ({min(lacking)} is unknown); make it again")
    score = realise(made.sketch, made.reading, material, made.lineup, made.draft, tables)
    found = scores(_whole(score, made.patches), Pages(parts=True, keys=keys))
    return {
        name.removeprefix(f"{PARTS}/"): _score_writer(each) for name, each in found.items() if name.startswith(PARTS)
    }


def _content(content: bytes) -> Writer:
    def write(file: IO[bytes]) -> None:
        file.write(content)

    return write


def write(result: Result, folder: Path, *, replace: bool = False) -> None:
    """Write a draft's folder, whole or not at all.

    Raises:
        OutputError: where the folder is there already or can't be written.
    """
    write_folder(folder, outputs(result), replace)


def read(
    path: Path,
    folder: Path,
    tables: Tables | None = None,
    *,
    played: bool | None = None,
    known: Known = NOTHING,
    replace: bool = False,
) -> tuple[Sketch, Reading]:
    """Read a sketch and write its reading to `folder`: reading.toml, to be edited and given back, reading.svg to look at.

    Where notes were played in, moved.csv says how far each one was moved.

    Raises:
        AutoorchError: with one line for the user.
    """
    refuse(folder, replace)
    tables = tables or load_tables()
    sketch = read_sketch(path, played=played, known=known, tables=tables)
    reading = read_roles(sketch, tables)
    text = reading_text(reading, sketch).encode()
    drawn = picture(sketch, reading)
    files: dict[str, Writer] = {
        "reading.toml": _content(text),
        "reading.svg": _content(drawn),
    }
    if sketch.moved:
        files["moved.csv"] = _content(moved_csv(sketch))
    write_folder(folder, files, replace)
    return sketch, reading
