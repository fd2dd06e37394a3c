"""How strong a player or section is heard at a pitch and a dynamic: the powers of constraints/balance.toml."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from math import isqrt, prod
from typing import Any

from autoorch.errors import TableError
from autoorch.instruments import DYNAMICS, Instrument
from autoorch.tables import Tables

_ROW = [(int, 1, 10_000)]
_STRENGTHS = {-2: "very_weak", -1: "weak", 0: "even", 1: "strong", 2: "overpowering"}
SCHEMA = {
    "dynamics": [frozenset(DYNAMICS)],
    "loudness": _ROW,
    "power": {"*": _ROW},
    "register": dict.fromkeys(_STRENGTHS.values(), _ROW),
    "section": {"powers": [str], "unit": (int, 1, 100), "least": (int, 0, 100)},
    "*": object,
}


def power(
    tables: Tables, instrument: Instrument, size: int, dynamic: str, midi: int | None = None, share: int = 12
) -> int:
    """The power of `size` players, in hundredths of one woodwind player at piano in an even register.

    A register sounds no softer and no louder than its practical dynamics. Sources: constraints/balance.toml.

    Args:
        size: people; 1 for a wind.
        dynamic: written mark, "ppp" to "fff".
        midi: sounding pitch; None for an even register.
        share: how many twelfths of the section play.
    Raises:
        TableError: for an instrument whose power row is not in the table.
    """
    table = _table(tables)
    column = DYNAMICS.index(dynamic)
    band = instrument.register(midi) if midi is not None else None
    strength = 0
    if band is not None:
        strength = band.strength
        column = min(max(column, DYNAMICS.index(band.softest)), DYNAMICS.index(band.loudest))
    row = table["power"].get(instrument.power)
    if row is None:
        raise TableError(f"has no row for {instrument.id}", "balance.toml", f"power.{instrument.power}")
    alone = row[column] * table["loudness"][column] * table["register"][_STRENGTHS[strength]][column]
    section = table["section"]
    if instrument.power in section["powers"]:
        scale = max(isqrt(10_000 * size * share // (12 * section["unit"])), section["least"])
    else:
        scale = 100 * size * share // 12
    return int(alone * scale + 500_000) // 1_000_000


def manner(tables: Tables, techniques: Iterable[str]) -> float:
    """What ways of playing leave of a player's power: the product of their `strength` in constraints/techniques.toml."""
    table = tables.rule("techniques")["technique"]
    return float(prod(table[technique].get("strength", 1.0) for technique in techniques))


@lru_cache(maxsize=8)
def _table(tables: Tables) -> Mapping[str, Any]:
    table = tables.rule("balance", SCHEMA)
    rows = {"dynamics": table["dynamics"], "loudness": table["loudness"]}
    rows |= {f"{part}.{name}": row for part in ("power", "register") for name, row in table[part].items()}
    for key, row in rows.items():
        if len(row) != len(DYNAMICS):
            raise TableError(f"must have {len(DYNAMICS)} columns, {' '.join(DYNAMICS)}", "balance.toml", key)
    if table["dynamics"] != DYNAMICS:
        raise TableError(f"must read {' '.join(DYNAMICS)}", "balance.toml", "dynamics")
    for name in table["section"]["powers"]:
        if name not in table["power"]:
            raise TableError(f'"{name}" has no row in power', "balance.toml", "section.powers")
    return table
