"""The checker's thresholds and the words of scores, read strictly (constraints/limits.toml, constraints/names.toml)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from autoorch.level import LEVELS, less, safe_range
from autoorch.tables import DYNAMICS, Instrument, Schema, Tables

FAMILIES = ("woodwind", "brass", "percussion", "harp", "keyboard", "voice", "strings")

_NUMBER = (float, 0, 1000)
_FAMILY = {f"{family}?": _NUMBER for family in FAMILIES}
_BY_ID = {"*": _NUMBER}

LIMITS: Schema = {
    "reading": {
        "quarters_a_minute": (float, 10, 400),
        "solo_strings": (int, 0, 99),
        "solo_others": (int, 0, 99),
        "several": (int, 1, 99),
        "desks": (int, 1, 99),
    },
    "ranges": {"source": str, "below": _FAMILY, "above": _FAMILY, "old_clefs": {"*": [object]}},
    "strings": {
        "source": str,
        "span": {"*": [_NUMBER]},
        "thumb": _BY_ID,
        "high": _NUMBER,
        "high_factor": (float, 1, 10),
        "moment": _NUMBER,
        "sustained": _NUMBER,
        "held_notes": (int, 1, 4),
    },
    "speed": {
        "source": str,
        "run": (int, 2, 99),
        "long_run": (int, 2, 99),
        "absurd": _NUMBER,
        "risky": _NUMBER,
        "contiguous": _NUMBER,
        "pizz": _BY_ID,
        "pizz_absurd": _NUMBER,
    },
    "leap": {"source": str, "risky": _FAMILY, "absurd": _FAMILY, "quick_risky": _FAMILY, "*": _NUMBER},
    "endurance": {
        "source": str,
        "window": _NUMBER,
        "filled": (float, 0, 1),
        "share": _BY_ID,
        "high_seconds": _NUMBER,
        "high_rest": _NUMBER,
    },
    "harp": {"source": str, "left": str, "right": str, "beam": (int, 1, 999), "*": _NUMBER},
    "timpani": {"source": str, "beam": (int, 1, 999), "*": _NUMBER},
    "low_interval": {"source": str, "exempt": [str], "*": _NUMBER},
    "balance": {"source": str, "from": frozenset(DYNAMICS), "*": _NUMBER},
    "*": {"source": str, "*": _NUMBER},
}

NAMES: Schema = {
    "sounds": {"*": str},
    "instruments": {"*": [str]},
    "double": {"*": str},
    "plural": {"words": [str]},
    "marks": {"*": [str]},
}


@dataclass(frozen=True, eq=False)
class Limits:
    """The tables as one level of player sees them."""

    tables: Tables
    level: str = LEVELS[0]

    @cached_property
    def all(self) -> Mapping[str, Any]:
        return self.tables.rule("limits", LIMITS)

    @cached_property
    def less(self) -> Mapping[str, Any] | None:
        """What the level has less of than professionals; None for those."""
        return less(self.level, self.tables)

    def of(self, rule: str) -> Mapping[str, Any]:
        """The thresholds of one rule; `source` is what its findings cite."""
        return self.all[rule]  # type: ignore[no-any-return]

    @property
    def speed(self) -> float:
        """What is left of a professional's speed."""
        return float(self.less["speed"]) if self.less else 1.0

    @property
    def wind(self) -> float:
        """What is left of a professional's breath."""
        return float(self.less["breath"]) if self.less else 1.0

    def normal(self, instrument: Instrument) -> tuple[int, int]:
        """The safe range, sounding; a student's is narrower by the table's semitones."""
        return safe_range(instrument, self.level, self.tables)
