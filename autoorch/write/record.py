"""draft.json: all that made a draft, enough to make it again, with nothing of place, clock or machine in it."""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from importlib.metadata import version
from typing import Any

from autoorch.brief import Brief
from autoorch.lineup import Lineup
from autoorch.pitch import Pitch
from autoorch.problem.draft import Draft
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch

FORMAT = 1
LIBRARIES = ("autoorch", "ortools", "music21", "numpy", "lxml")


def plain(value: Any) -> Any:
    """Dataclasses as objects, pitches as names, tuples as lists; ready for JSON."""
    if isinstance(value, Pitch):
        return str(value)
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, dict):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [plain(inner) for inner in value]
    return value


def record(
    sketch: Sketch, reading: Reading, lineup: Lineup, brief: Brief, draft: Draft, settings: dict[str, Any]
) -> bytes:
    """The file's bytes: one object, keys in a fixed order, one line a choice, fate or note."""
    players = [
        {"name": p.name, "instrument": p.instrument.id, "size": p.size, "doubles": [d.id for d in p.doubles]}
        for p in lineup.players
    ]
    data = {
        "format": FORMAT,
        "versions": {name: version(name) for name in LIBRARIES},
        "settings": plain(settings),
        "status": draft.status,
        "directed": draft.directed,
        "objective": draft.objective,
        "bound": draft.bound,
        "gap": round(draft.gap, 6),
        "costs": draft.costs,
        "losses": list(draft.losses),
        "notices": list(draft.notices),
        "lineup": {"name": lineup.name, "players": players},
        "brief": plain(brief),
        "choices": plain(draft.choices),
        "fates": plain(draft.fates),
        "reading": plain(reading),
        "sketch": plain(sketch),
    }
    return (_lines(data) + "\n").encode()


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
