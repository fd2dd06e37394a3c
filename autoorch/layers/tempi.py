"""Changes of tempo where the sketch has none, as marks that a conductor may follow or leave: before the last return of the first
theme, and at the end of the cue."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from autoorch.layers.cue import Cue
from autoorch.sketch.bars import runs
from autoorch.sketch.model import Mark


def tempi(cue: Cue) -> tuple[Mark, ...]:
    """Words for everybody, in time order: in square brackets, as editors have what is theirs, or as they are where the brief
    wants them played. The mock-up follows plain words and no brackets."""
    way = cue.brief.tempi
    if way == "none":
        return ()
    found = sorted((*_return(cue), *_close(cue)), key=lambda entry: entry[0])
    return tuple(Mark("words", tick, tick, -1, word if way == "played" else f"[{word}]") for tick, word in found)


def told_tempi(cue: Cue, marks: tuple[Mark, ...]) -> tuple[str, ...]:
    """One plain line that names the bars of our own marks."""
    if not marks:
        return ()
    bars = runs(cue.sketch, {cue.sketch.bar_at(mark.onset).index for mark in marks})
    manner = "played" if cue.brief.tempi == "played" else "in brackets, not played by the mock-up"
    return (f"tempo marks that the sketch does not have stand in {bars} ({manner})",)


def _return(cue: Cue) -> Iterator[tuple[int, str]]:
    """Slower through the bar before the first theme comes back for the last time, in tempo from there."""
    table = cue.tables.rule("finish")["tempo"]
    returns = [moment for moment in cue.moments if moment.kind == "arrival" and moment.strength >= table["return"]]
    for moment in returns[-1:]:
        before = cue.sketch.bar_at(moment.onset - 1)
        short = moment.onset - before.onset < table["least_bars"] * before.length
        start = cue.sketch.bars[max(0, before.index - short)].onset
        if 0 < start < moment.onset and _suits(cue, table, moment.onset) and not _said(cue, table, start, moment.onset):
            yield start, table["slower"]
            yield moment.onset, table["back"]


def _close(cue: Cue) -> Iterator[tuple[int, str]]:
    """Slower into the last attack."""
    table = cue.tables.rule("finish")["tempo"]
    last = max((note.onset for note in cue.sketch.notes), default=0)
    first = cue.sketch.bar_at(last).index - table["close_bars"]
    if first > 0:
        start = cue.sketch.bars[first].onset
        if _suits(cue, table, start) and not _said(cue, table, start, last, held=False):
            yield start, table["close"]


def _suits(cue: Cue, table: Mapping[str, Any], tick: int) -> bool:
    return cue.reading.phrases[cue.phrase_at(tick)].character in table["characters"]


def _said(cue: Cue, table: Mapping[str, Any], start: int, end: int, *, held: bool = True) -> bool:
    """The sketch itself speaks of tempo near there, or holds a note."""
    near = start - round(table["clear_bars"] * cue.sketch.bar_at(start).length)
    known = tuple(cue.tables.rule("notation")["words"]["everybody"])
    for mark in cue.sketch.marks:
        words = mark.kind == "words" and any(word.lower().lstrip("([").startswith(known) for word in mark.value.split())
        if near < mark.onset <= end and (mark.kind == "tempo" or words):
            return True
    return held and any("fermata" in note.marks and start <= note.onset < end for note in cue.sketch.notes)
