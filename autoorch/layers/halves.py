"""The two halves of a tune's phrase: where they meet, and who joins the tune for the second where that goes up to the crest, or
leaves it where that falls."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median
from typing import Any

from autoorch.layers.model import UNISON, PhrasePlan, Turn
from autoorch.sketch.model import Sketch, SketchNote


@dataclass(frozen=True, slots=True)
class Joint:
    """The tick at which a phrase's halves meet; `rises`: the second has the phrase's highest note."""

    tick: int
    rises: bool


def find_joint(
    sketch: Sketch, notes: Sequence[SketchNote], start: int, end: int, table: Mapping[str, Any]
) -> Joint | None:
    """The place near the middle of a phrase where its tune begins again in the rhythm of its first bar, or before which it rests
    or holds; None where it has no such place.

    Args:
        notes: the tune's principal line in the phrase, in time order.
        start, end: of the phrase, ticks.
        table: [half] of constraints/plan.toml.
    """
    waits = {b.onset: b.onset - a.onset for a, b in pairwise(notes) if b.onset > a.onset}
    if not waits:
        return None
    bar = sketch.bar_at(start).length
    least, usual = table["least_bars"] * bar, median(waits.values())
    middle = [
        tick
        for tick in waits
        if start + least <= tick <= end - least and abs(2 * tick - start - end) <= table["off_middle"] * (end - start)
    ]
    held = [tick for tick in middle if waits[tick] >= table["held"] * usual]
    first = _rhythm(notes, notes[0].onset, bar)
    even = len({*waits.values()}) == 1 or len(first) <= table["same"]
    again = [tick for tick in middle if not even and _rhythm(notes, tick, bar) == first]
    top = max(note.pitch.midi for note in notes)
    crest = max(note.onset for note in notes if note.pitch.midi == top)
    tick = max(
        {*held, *again},
        key=lambda tick: (tick <= crest, tick in again, waits[tick], -abs(2 * tick - start - end), -tick),
        default=None,
    )
    return None if tick is None else Joint(tick, tick <= crest)


def _rhythm(notes: Sequence[SketchNote], start: int, length: int) -> tuple[int, ...]:
    """Where notes begin, counted from a note at `start`."""
    return tuple(sorted({note.onset - start for note in notes if start <= note.onset < start + length}))


def halved(phrase: PhrasePlan, joint: Joint | None, louder: bool = False) -> PhrasePlan:
    """The phrase with one player fewer on its tune up to the joint, or from there on where it falls; as it is where nobody joins
    it, where it turns otherwise, or where it falls although louder music comes (`louder`)."""
    if joint is None or phrase.turns or phrase.scheme == UNISON or not phrase.joined or (louder and not joint.rises):
        return phrase
    doublers = phrase.doublers - 1
    fewer = replace(phrase, joined=phrase.joined[:-1], doublers=doublers, octaves=max(1, min(phrase.octaves, doublers)))
    before, after = (fewer, phrase) if joint.rises else (phrase, fewer)
    turn = Turn(
        joint.tick, after.dynamic, after.weight, after.joined, after.ground, after.bass, after.octaves, after.doublers,
        after.scheme, tune=True,
    )  # fmt: skip
    return replace(before, turns=(turn,))
