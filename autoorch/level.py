"""Levels of players: what a student has less of than a professional in range, speed and breath (constraints/levels.toml)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from autoorch.tables import Instrument, Tables
from autoorch.toml import Schema

LEVELS = ("professional", "student")

SCHEMA: Schema = {
    "student": {
        "top": (int, 0, 24),
        "bottom": (int, 0, 24),
        "speed": (float, 0, 1),
        "breath": (float, 0, 1),
        "beyond": int,
        "as_they_are": [str],
        "bottoms_stay": [str],
    }
}


def less(level: str, tables: Tables) -> Mapping[str, Any] | None:
    """What the table says of a level; None for professionals."""
    return None if level in ("", LEVELS[0]) else tables.rule("levels", SCHEMA)[level]


def safe_range(instrument: Instrument, level: str, tables: Tables) -> tuple[int, int]:
    """The normal range, sounding, of a player of that level."""
    table, (low, high) = less(level, tables), instrument.normal
    if table is None or instrument.family in table["as_they_are"]:
        return low, high
    return low if instrument.family in table["bottoms_stay"] else low + table["bottom"], high - table["top"]


def at_level(instrument: Instrument, level: str, tables: Tables) -> Instrument:
    """The instrument in the hands of a player of that level: nothing beyond a professional's normal range, and slower."""
    table = less(level, tables)
    if table is None:
        return instrument
    own, speed, breath = instrument.fluency, table["speed"], table["breath"]
    fluency = replace(
        own,
        repeat_per_s=_times(own.repeat_per_s, speed),
        moving_per_s=_times(own.moving_per_s, speed),
        held_s=own.held_s and _times(own.held_s, breath),
        stretch_s=own.stretch_s and _times(own.stretch_s, breath),
    )
    if instrument.family in table["as_they_are"]:
        return replace(instrument, fluency=fluency)
    narrower = safe_range(instrument, level, tables)
    return replace(instrument, normal=narrower, extreme=instrument.normal, fluency=fluency)


def _times(pair: tuple[float, float], factor: float) -> tuple[float, float]:
    return pair[0] * factor, pair[1] * factor
