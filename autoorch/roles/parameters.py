"""The reading's parameters: constraints/reading.toml, read strictly."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from autoorch.roles.features import NAMES
from autoorch.tables import Tables

Section = Mapping[str, float]
_SECTIONS = {
    "melody": "near join bias most leap leap_most gap gap_most window double_share",
    "melody_weights": " ".join((*NAMES, "constant")),
    "bass": "leap window apart held",
    "figure": "notes unit even leaps distinct distinct_tune third crest",
    "texture": "chord off_beat repeated held lines few",
    "phrase": "shortest longest usual unusual rest long barline slur mark inside",
    "form": "same equal primes",
    "strand": "cut cut_leap cut_rest",
    "lines": "crossing silent fresh",
    "moment": "leap leap_full late arrival key borrowed cadence fermata sudden",
    "proposal": "tempo louder octave",
}
SCHEMA = {section: dict.fromkeys(keys.split(), float) for section, keys in _SECTIONS.items()}


def parameters(tables: Tables) -> Mapping[str, Any]:
    """Section -> key -> value.

    Raises:
        TableError: for an unknown, missing or absurd key.
    """
    return tables.rule("reading", SCHEMA)
