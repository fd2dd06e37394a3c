"""draft.json: all that made a draft, enough to make it again, with nothing of place, clock or machine in it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

from autoorch.brief import Brief
from autoorch.errors import AutoorchError, SketchError
from autoorch.lineup import Lineup, from_rows, rows_of
from autoorch.plain import built, plain
from autoorch.problem.draft import Draft
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch
from autoorch.solver.asked import Asked
from autoorch.solver.solve import Limits
from autoorch.tables import Tables
from autoorch.write.graft import Patch

NAME = "draft.json"
FORMAT = 2
LIBRARIES = ("autoorch", "ortools", "music21", "numpy", "lxml")
_HEAD = (
    "status", "directed", "objective", "bound", "costs", "losses", "notices", "verdicts", "plan", "added", "choices", "fates",
)  # fmt: skip


@dataclass(frozen=True)
class Record:
    """What draft.json holds.

    Attributes:
        limits: the solver's effort.
        asked: what this draft was asked besides its brief.
        versions: of the libraries that have a say in the bytes.
        tables: fingerprint of the tables.
        patches: bars that stand in the scores as another draft has them.
    """

    sketch: Sketch
    reading: Reading
    lineup: Lineup
    brief: Brief
    limits: Limits
    asked: Asked
    draft: Draft
    versions: Mapping[str, str]
    tables: str
    patches: tuple[Patch, ...] = ()


def versions() -> dict[str, str]:
    """Those installed here."""
    return {name: version(name) for name in LIBRARIES}


def write_record(made: Record, tables: Tables) -> bytes:
    """The file's bytes: one object, keys in a fixed order, one line a choice, fate or note."""
    rows = rows_of(made.lineup, tables)
    players = [{"player": p.name} | row for p, row in zip(made.lineup.players, rows, strict=True)]
    draft = plain(made.draft)
    data = {
        "format": FORMAT,
        "versions": dict(made.versions),
        "tables": made.tables,
        "limits": plain(made.limits),
        "gap": round(made.draft.gap, 6),
        **{name: draft[name] for name in _HEAD},
        "lineup": {"name": made.lineup.name, "players": players},
        "brief": plain(made.brief),
        "asked": plain(made.asked),
        "patches": plain(made.patches),
        "reading": plain(made.reading),
        "sketch": plain(made.sketch),
    }
    return (_lines(data) + "\n").encode()


def drafts_in(folder: Path) -> list[Path]:
    """The folder itself where it holds a draft, else the drafts in the folders inside it (1, 2, …, 10)."""
    inside = sorted(folder.glob(f"*/{NAME}"), key=lambda path: (len(path.parent.name), path))
    return [folder] if (folder / NAME).exists() else [path.parent for path in inside]


def read_record(path: Path, tables: Tables) -> Record:
    """The record in a draft's folder, or in a file of its own.

    Raises:
        SketchError: where there is none or something in it is missing, unknown or wrong; names the field.
    """
    file = path / NAME if path.is_dir() else path
    try:
        data = json.loads(file.read_text("utf-8"))
    except OSError as error:
        if several := drafts_in(path):
            one = "holds a draft; name it" if len(several) == 1 else f"holds {len(several)} drafts; name one of them"
            raise SketchError(f"{one}: {', '.join(map(str, several))}", str(path)) from None
        raise SketchError(f"can't be read: {error.strerror}; name a folder that draft has written", str(file)) from None
    except (ValueError, RecursionError):
        raise SketchError("is no record of a draft (no JSON)", str(file)) from None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise SketchError(f"is no record of a draft in format {FORMAT}; make the draft again", str(file))
    try:
        lineup = data["lineup"]
        rows = [{key: value for key, value in row.items() if key != "player"} for row in lineup["players"]]
        return Record(
            sketch=built(Sketch, data["sketch"], "sketch"),
            reading=built(Reading, data["reading"], "reading"),
            lineup=from_rows(lineup["name"], rows, tables),
            brief=built(Brief, data["brief"], "brief"),
            limits=built(Limits, data["limits"], "limits"),
            asked=built(Asked, data["asked"], "asked"),
            draft=built(Draft, {name: data[name] for name in _HEAD}, "draft"),
            versions=built(dict[str, str], data["versions"], "versions"),
            tables=built(str, data["tables"], "tables"),
            patches=built(tuple[Patch, ...], data["patches"], "patches"),
        )
    except KeyError as error:
        raise SketchError(f"{error.args[0]} is missing in the record; make the draft again", str(file)) from None
    except (ValueError, TypeError, AttributeError, AutoorchError) as error:
        raise SketchError(f"the record is damaged: {error}", str(file)) from None


def otherwise(made: Record, tables: Tables) -> tuple[str, ...]:
    """What is no longer as it was when the draft was made: versions and tables, one plain line each."""
    here = versions()
    found = [
        f"{name} was {made.versions.get(name, 'not there')} and is {here[name]}"
        for name in LIBRARIES
        if made.versions.get(name) != here[name]
    ]
    return tuple(found + ([] if made.tables == tables.digest else ["the tables (constraints) have changed"]))


def _lines(value: Any, depth: int = 0) -> str:
    """JSON with the outer two levels spread over lines and everything deeper on one line each."""
    pad = " " * (depth + 1)
    if depth < 2 and isinstance(value, dict) and value:
        body = ",\n".join(f"{pad}{json.dumps(key)}: {_lines(inner, depth + 1)}" for key, inner in value.items())
        return f"{{\n{body}\n{' ' * depth}}}"
    if isinstance(value, list) and value and depth < 3 and isinstance(value[0], dict | list):
        body = ",\n".join(f"{pad}{_lines(inner, 3)}" for inner in value)
        return f"[\n{body}\n{' ' * depth}]"
    return json.dumps(value, ensure_ascii=False, separators=(", ", ": "))
