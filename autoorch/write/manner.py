"""How the mock-up plays: constraints/playing.toml, read strictly."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from autoorch.tables import Tables, load_tables
from autoorch.toml import Schema

Manner = Mapping[str, Any]
"""constraints/playing.toml as read."""

_SHARE = (float, 0, 1)
_VELOCITY = (int, 0, 127)
_DIVISION = (int, 1, 60)
SCHEMA: Schema = {
    "attack": {"*": _VELOCITY},
    "accent": {"*": _VELOCITY},
    "length": {"*": _SHARE},
    "ornament": {"rate": (float, 1, 40), "divisions": [_DIVISION], "fastest": _DIVISION, "roll": _DIVISION},
    "expression": {
        "softest": _VELOCITY,
        "divisions": _DIVISION,
        "swell": _SHARE,
        "crest": _SHARE,
        "rest": (float, 0, 1000),
        "least": (float, 0, 1000),
        "longest": (float, 1, 1000),
    },
    "sound": [{"word": str, "back": [str], "players": [str], "program": (int, 1, 128)}],
    "tempo": {
        "divisions": _DIVISION,
        "bars": (int, 1, 100),
        "reach": (int, 1, 1000),
        "fermata": (float, 1, 10),
        "gradual": {"*": (float, 0.1, 10)},
        "sudden": {"*": (float, 0.1, 10)},
    },
    "humanise": {"seconds": (float, 0, 0.1), "velocity": (int, 0, 30)},
    "pan": {"*": _VELOCITY},
    "seat": {"*": _VELOCITY},
    "loudness": {"target": (float, -60, 0), "peak": (float, -20, 0), "trim": (float, 0, 40)},
}


def read_manner(tables: Tables | None = None) -> Manner:
    """The table; the packaged one where None.

    Raises:
        TableError: where it breaks the schema.
    """
    return (tables or load_tables()).rule("playing", SCHEMA)
