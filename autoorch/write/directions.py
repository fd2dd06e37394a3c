"""What stands between the notes of a part in MusicXML: dynamics, hairpins, words, tempo, letters, each with what it sounds."""

from __future__ import annotations

import re
from functools import lru_cache

from autoorch.score.model import Direction, Part
from autoorch.score.notation import Notation
from autoorch.sketch.model import Bar
from autoorch.write.dynamics import FORTE, VELOCITY
from autoorch.write.elements import Element, Sub, text

DYNAMIC_ELEMENTS = frozenset(
    "p pp ppp pppp ppppp pppppp f ff fff ffff fffff ffffff mp mf sf sfp sfpp fp rf rfz sfz sffz fz n pf sfzp".split()
)

PIZZICATO = {"pizz.": "yes", "arco": "no"}
"""Words that a program can play."""


@lru_cache(maxsize=8)
def _upright(house: Notation) -> re.Pattern[str]:
    """Words that stand upright: who plays and how; all others are italic."""
    ways = {row[key] for row in house.techniques.values() for key in ("word", "back", "section") if row.get(key)}
    said = [
        *map(re.escape, sorted(ways)),
        *(re.escape(word).replace(r"\{\}", r"\d+") for word in house.section.values()),
    ]
    return re.compile("|".join(said))


def add_direction(found: Element, part: Part, bar: Bar, mark: Direction, offset: int, house: Notation) -> None:
    """Add one direction to a bar; `offset` ticks from the note that follows."""
    below = mark.kind in ("dynamic", "wedge") and part.player.instrument.kind != "voice"
    own = Sub(found, "direction", placement="below" if below else "above")
    kind = Sub(own, "direction-type")
    sound: dict[str, str] = {}
    if mark.kind == "dynamic":
        dynamics = Sub(kind, "dynamics")
        if mark.value in DYNAMIC_ELEMENTS:
            Sub(dynamics, mark.value)
        else:
            text(dynamics, "other-dynamics", mark.value)
        if mark.value in VELOCITY:
            sound = {"dynamics": f"{100 * VELOCITY[mark.value] / FORTE:.2f}"}
    elif mark.kind == "wedge":
        Sub(kind, "wedge", type=mark.value, number="1")
    elif mark.kind == "rehearsal":
        text(kind, "rehearsal", mark.value)
        size = str(house.rehearsal["number"])
        text(Sub(own, "direction-type"), "words", f"({bar.number})", **{"font-style": "normal", "font-size": size})
    elif mark.kind == "tempo":
        sound = _tempo(own, kind, bar, mark)
    else:
        plain = _upright(house).fullmatch(mark.value)
        text(kind, "words", mark.value, **{"font-style": "normal" if plain else "italic"})
        if mark.value in PIZZICATO:
            sound = {"pizzicato": PIZZICATO[mark.value]}
    if offset:
        text(own, "offset", offset)
    if part.staves > 1:
        text(own, "staff", mark.staff)
    if sound:
        Sub(own, "sound", **sound)


def _tempo(own: Element, kind: Element, bar: Bar, mark: Direction) -> dict[str, str]:
    """Words and metronome mark; returns the sound's attributes."""
    if mark.text:
        text(kind, "words", mark.text, **{"font-weight": "bold"})
    if not mark.value:
        return {}
    if mark.text:
        kind = Sub(own, "direction-type")
    beats, unit = bar.metre
    compound = beats % 3 == 0 and beats > 3 and unit == 8
    metronome = Sub(kind, "metronome")
    text(metronome, "beat-unit", "half" if unit == 2 else "quarter")
    if compound:
        Sub(metronome, "beat-unit-dot")
    quarters = float(mark.value)
    text(metronome, "per-minute", f"{quarters / (1.5 if compound else 2 if unit == 2 else 1):.4g}")
    return {"tempo": f"{quarters:g}"}
