"""autoorch: from a piano sketch to a first full-score draft for exactly the players booked.

The public names below are loaded when first used, so that `import autoorch` stays quick; only `check`, which shares its
name with the package it lives in, is there from the start.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from autoorch.check import check

if TYPE_CHECKING:
    from autoorch.brief import Brief, read_brief
    from autoorch.delivery import write
    from autoorch.errors import AutoorchError
    from autoorch.lineup import Lineup, parse_lineup
    from autoorch.pipeline import Result, draft
    from autoorch.roles import Reading, read_roles
    from autoorch.sketch import Sketch, read_sketch
    from autoorch.tables import Tables, load_tables

_HOMES = {
    "AutoorchError": "autoorch.errors",
    "Brief": "autoorch.brief",
    "Lineup": "autoorch.lineup",
    "Reading": "autoorch.roles",
    "Result": "autoorch.pipeline",
    "Sketch": "autoorch.sketch",
    "Tables": "autoorch.tables",
    "draft": "autoorch.pipeline",
    "load_tables": "autoorch.tables",
    "parse_lineup": "autoorch.lineup",
    "read_brief": "autoorch.brief",
    "read_roles": "autoorch.roles",
    "read_sketch": "autoorch.sketch",
    "write": "autoorch.delivery",
}

__all__ = [
    "AutoorchError",
    "Brief",
    "Lineup",
    "Reading",
    "Result",
    "Sketch",
    "Tables",
    "check",
    "draft",
    "load_tables",
    "parse_lineup",
    "read_brief",
    "read_roles",
    "read_sketch",
    "write",
]


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'autoorch' has no attribute {name!r}")
