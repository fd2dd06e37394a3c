"""How this house writes scores: clefs, tuplets, dynamics, words, slurs, breaths, read from constraints/notation.toml."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from autoorch.instruments import DYNAMICS, KINDS
from autoorch.tables import Schema, Tables, load_tables

_COST = (float, 0, 1000)
_COUNT = (int, 1, 1000)
_LENGTH = (float, 0, 2000)
_WORDS = [str]
_SCHEMA: Schema = {
    "clefs": {"change": _COST, "rested": _COST, "slurred": _COST, "free_ledgers": (int, 0, 9), "unusual": _COST},
    "tuplets": {
        "cut": _COST,
        "wide": _COST,
        "fine": _COST,
        "usual": {"*": _COST},
        "rare": _COST,
        "most_notes": _COUNT,
        "wild": _COST,
        "mixed": _COST,
    },
    "dynamics": {
        "again_after_bars": _COUNT,
        "undivided_bars": _COUNT,
        "least_wedge_quarters": (float, 0, 100),
        "held_wedge_quarters": (float, 0, 100),
        "sung_share": (float, 0, 1),
        "yielding": _WORDS,
        "yield_at": _WORDS,
        "accompanying": _WORDS,
        "over_share": (float, 0, 1),
        "held_over": (float, 1, 100),
        "repeated": _WORDS,
    },
    "words": {"everybody": _WORDS, "hands": _WORDS, "manner": _WORDS},
    "rehearsal": {"bars_apart": _COUNT, "letters": str, "number": _COUNT},
    "slurs": {
        "bow_s": dict.fromkeys(DYNAMICS, (float, 0.1, 60)),
        "bow_notes": (int, 2, 1000),
        "off_bar": _COST,
        "off_beat": _COST,
    },
    "breath": {
        "gap_s": (float, 0, 10),
        "lift_s": (float, 0, 100),
        "rest_s": (float, 0, 10),
        "rest_quarters": (float, 0, 4),
    },
    "syllables": {"closed": str, "open": str, "open_from": frozenset(DYNAMICS)},
    "changes": {"word": str},
    "sister": [{"instrument": str, "sister": str, "sharps": _COUNT, "beside": str}],
    "cues": {"after_bars": _COUNT, "bars": _COUNT, "sounding": (float, 0, 1)},
    "options": {"within": (float, 0, 1), "most": _COUNT},
    "pages": {"system": (float, 1, 1000), "bar": (float, 0, 100), "systems": _COUNT, "turn_bars": _COUNT},
    "paper": {
        "sizes": [[_LENGTH]],
        "small": _COUNT,
        **dict.fromkeys(("margin", "least_staff", "staff", "easy_staff", "pitch", "title"), _LENGTH),
        "full": (float, 0, 1),
    },
    "first_page": {
        **dict.fromkeys(("title", "words", "lineup", "players"), _COUNT),
        "line": (float, 1, 3),
        "letter": (float, 0.1, 2),
        **dict.fromkeys(("plain", "transposed", "concert", "condensed", "tacet"), str),
    },
    "tremolo": {"between": _WORDS},
    "signs": dict.fromkeys(KINDS, _WORDS),
}


@dataclass(frozen=True, eq=False)
class Notation:
    """The table, whose keys are explained where they stand, the rows of techniques.toml, `foot`, the seconds that a
    harpist needs for a pedal (limits.toml), and `hand`, what one hand can take (playability.toml).
    Two are equal only where they are one."""

    clefs: Mapping[str, Any]
    tuplets: Mapping[str, Any]
    ratio: Mapping[int, float]
    dynamics: Mapping[str, Any]
    everybody: tuple[str, ...]
    hands: tuple[str, ...]
    manner: tuple[str, ...]
    rehearsal: Mapping[str, Any]
    slurs: Mapping[str, Any]
    breath: Mapping[str, Any]
    syllables: Mapping[str, str]
    change: str
    sisters: tuple[Mapping[str, Any], ...]
    cues: Mapping[str, Any]
    options: Mapping[str, float]
    pages: Mapping[str, float]
    paper: Mapping[str, Any]
    first_page: Mapping[str, Any]
    trembling: frozenset[str]
    signs: Mapping[str, frozenset[str]]
    techniques: Mapping[str, Mapping[str, Any]]
    section: Mapping[str, str]
    foot: float
    hand: Mapping[str, int]

    @property
    def divisions(self) -> tuple[str, ...]:
        """What a section's part says about who of it plays: words, or how they begin or end where a number stands in them."""
        few = (row["section"] for row in self.techniques.values() if "section" in row)
        return (*few, *(word.replace("{}", "") for word in self.section.values()))


def notation(tables: Tables | None = None) -> Notation:
    """The habits of these tables; the packaged ones where None.

    Raises:
        TableError: file and key of the first thing that is wrong.
    """
    return _read(tables or load_tables())


@lru_cache(maxsize=8)
def _read(tables: Tables) -> Notation:
    data = tables.rule("notation", _SCHEMA)
    return Notation(
        clefs=data["clefs"],
        tuplets=data["tuplets"],
        ratio={int(odd): cost for odd, cost in data["tuplets"]["usual"].items()},
        dynamics=data["dynamics"],
        everybody=data["words"]["everybody"],
        hands=data["words"]["hands"],
        manner=data["words"]["manner"],
        rehearsal=data["rehearsal"],
        slurs=data["slurs"],
        breath=data["breath"],
        syllables=data["syllables"],
        change=data["changes"]["word"],
        sisters=tuple(data["sister"]),
        cues=data["cues"],
        options=data["options"],
        pages=data["pages"],
        paper=data["paper"],
        first_page=data["first_page"],
        trembling=frozenset(data["tremolo"]["between"]),
        signs={kind: frozenset(names) for kind, names in data["signs"].items()},
        techniques=tables.rule("techniques")["technique"],
        section=tables.rule("techniques")["section"],
        foot=tables.rule("limits")["harp"]["pedal"],
        hand=tables.rule("playability")["hand"],
    )
