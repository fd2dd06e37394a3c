"""constraints/proposals.toml: what is proposed where the sketch says nothing, read strictly."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from typing import Any

from autoorch.instruments import DYNAMICS
from autoorch.roles.model import CHARACTERS
from autoorch.tables import Tables
from autoorch.toml import Schema

FEATURES = (
    "slow", "fast", "busy", "calm", "leaping", "low", "chordal", "dotted", "legato", "detached", "minor", "duple",
    "triple", "compound", "offbeat", "melody", "loud", "soft",
)  # fmt: skip
_NUMBER = (float, 0, 1000)
_WEIGHT = (float, -10, 10)
SCHEMA: Schema = {
    "tempo": {
        **dict.fromkeys("attacks tune slowest fastest".split(), (float, 0.1, 1000)),
        "marks": [(float, 1, 1000)],
        "words": {"*": (float, 1, 1000)},
    },
    "dynamic": {
        **dict.fromkeys("octave density height rate climax late tail last step".split(), (float, -100, 100)),
        "most": (int, 0, 8),
        "long": (int, 0, 1000),
        "velocity": _NUMBER,
        "velocities": dict.fromkeys(DYNAMICS, (float, 0, 127)),
    },
    "feature": dict.fromkeys(
        "slow fast busy calm leaping low deep chord long_short least change new_section".split(), _NUMBER
    ),
    "character": {
        name: {"dynamic": frozenset(DYNAMICS), "words": [str], "score": {f"{each}?": _WEIGHT for each in FEATURES}}
        for name in CHARACTERS
    },
}


def proposals(tables: Tables) -> Mapping[str, Any]:
    """The whole table.

    Raises:
        TableError: for an unknown, missing or absurd key.
    """
    return tables.rule("proposals", SCHEMA)


def folded(text: str) -> str:
    """Small letters without accents, words apart by one blank: the form in which words of a sketch are compared."""
    plain = unicodedata.normalize("NFKD", text.casefold().replace("ß", "ss"))
    kept = "".join(sign for sign in plain if not unicodedata.combining(sign))
    return " ".join(re.sub(r"[^a-z0-9+]+", " ", kept).split())


def says(text: str, words: Iterable[str]) -> bool:
    """One of the words (a trailing * for any ending) stands in the text."""
    plain = f" {folded(text)} "
    return any(
        re.search(rf" {re.escape(word.removesuffix('*'))}{'[a-z]*' if word.endswith('*') else ''} ", plain)
        for word in words
    )
