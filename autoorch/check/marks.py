"""What the marks over a stave put in force: dynamics, hairpins, pizz., mutes, div., "1.", "a2", changes of instrument."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass

from autoorch.check.limits import Limits
from autoorch.check.model import Mark, Note, Part, Score
from autoorch.check.names import Names, fold
from autoorch.check.walk import DYNAMIC_SIGNS, RawMark
from autoorch.tables import DYNAMICS, Instrument


@dataclass(frozen=True, slots=True)
class Hand:
    """What is needed to understand words: names and limits."""

    names: Names
    limits: Limits


@dataclass(slots=True)
class _State:
    pizz: bool = False
    muted: bool = False
    divided: bool = False
    players: int = 0
    instrument: Instrument | None = None


def apply_marks(part: Part, raw: Iterable[RawMark], score: Score, hand: Hand) -> None:
    """Fills `part.marks` and sets dynamic and technique of each note."""
    placed: list[Mark] = []
    for mark in raw:
        tick = score.bars[mark.measure].start + round(mark.at * score.ticks)
        if mark.kind == "words":
            placed += (Mark(tick, kind, text) for kind, text in _meaning(mark.text, part, hand))
        elif mark.kind != "tempo":
            placed.append(Mark(tick, mark.kind, mark.text))
    part.marks = sorted(placed, key=lambda mark: mark.tick)
    _techniques(part, hand)
    _dynamics(part)


def _meaning(words: str, part: Part, hand: Hand) -> list[tuple[str, str]]:
    """What one text means, as (kind, text); plain "words" where it is nothing the checker knows."""
    text = fold(words)
    marks = hand.names.marks
    found: list[tuple[str, str]] = []
    if marks["unis"].search(text):
        found.append(("unis", words))
    elif marks["div"].search(text):
        found.append(("div", words))
    if marks["unmute"].search(text) and (part.kind in ("bowed", "wind")):
        found.append(("unmute", words))
    elif marks["mute"].search(text) and not marks["mute_soon"].search(text):
        found.append(("mute", words))
    if marks["arco"].search(text):
        found.append(("arco", words))
    elif marks["pizz"].search(text):
        found.append(("pizz", words))
    if marks["both"].search(text):
        found.append(("both", words))
    elif marks["tutti"].search(text):
        found.append(("tutti", words))
    elif marks["one"].fullmatch(text):
        found.append(("one", words))
    change = marks["change"].match(text)
    if instrument := hand.names.by_name(text[change.end() :]) if change else _named(text, part, hand):
        found.append(("instrument", instrument.id))
    if sign := next((DYNAMIC_SIGNS[word] for word in text.split()[:2] if word in DYNAMIC_SIGNS and word != "n"), None):
        found.append(("dynamic", sign))
    elif marks["grow"].search(text):
        found.append(("grow", words))
    return found or [("words", words)]


def _named(text: str, part: Part, hand: Hand) -> Instrument | None:
    """The wind that a mark of one or two words over a wind's stave names in full ("Piccolo", "Bass Clarinet")."""
    if part.kind != "wind" or len(text) <= 3 or len(text.split()) > 2:
        return None
    instrument = hand.names.by_name(text)
    if instrument is None or instrument.kind != "wind" or fold(instrument.player).split()[0] not in text:
        return None
    return instrument


def _techniques(part: Part, hand: Hand) -> None:
    state, place = _State(), 0
    if any(mark.kind == "both" for mark in part.marks) and part.kind == "wind" and part.players == 1:
        part.players = 2
    everything: list[Note] = sorted((*part.notes, *part.graces), key=lambda note: note.start)
    for note in everything:
        while place < len(part.marks) and part.marks[place].tick <= note.start:
            _switch(state, part.marks[place], hand)
            place += 1
        note.pizz |= state.pizz
        note.muted, note.divided, note.players = state.muted, state.divided, state.players
        if state.instrument is not None:
            note.instrument = state.instrument


def _switch(state: _State, mark: Mark, hand: Hand) -> None:
    if mark.kind in ("pizz", "arco"):
        state.pizz = mark.kind == "pizz"
    elif mark.kind in ("mute", "unmute"):
        state.muted = mark.kind == "mute"
    elif mark.kind in ("div", "unis"):
        state.divided = mark.kind == "div"
    elif mark.kind in ("one", "both", "tutti"):
        state.players = 1 if mark.kind == "one" else 0
    elif mark.kind == "instrument":
        state.instrument = hand.limits.tables.instruments[mark.text]


def _dynamics(part: Part) -> None:
    """Levels from the marks; along a hairpin the level moves towards the next mark (a degree, where none follows at its end)."""
    levels: list[tuple[int, int]] = []
    current: int | None = None
    wedge: tuple[int, int] | None = None
    for mark in part.marks:
        if mark.kind == "dynamic":
            current, wedge = DYNAMICS.index(mark.text), None
            levels.append((mark.tick, current))
        elif mark.kind == "wedge" and mark.text in ("crescendo", "diminuendo"):
            wedge = (mark.tick, 1 if mark.text == "crescendo" else -1)
        elif mark.kind == "wedge" and wedge is not None:
            if current is not None:
                current = min(len(DYNAMICS) - 1, max(0, current + wedge[1]))
                levels.append((mark.tick, current))
            wedge = None
    if not levels:
        return
    ticks = [tick for tick, _ in levels]
    for note in (*part.notes, *part.graces):
        index = bisect_right(ticks, note.start) - 1
        if index >= 0:
            note.dynamic = levels[index][1]
