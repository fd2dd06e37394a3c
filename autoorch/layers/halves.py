"""The two halves of a tune's phrase: where they meet, and who joins the tune for the second, which goes up to the crest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import median
from typing import Any

from autoorch.layers.model import UNISON, PhrasePlan, Turn
from autoorch.sketch.model import Sketch, SketchNote


def find_joint(
    sketch: Sketch, notes: Sequence[SketchNote], start: int, end: int, table: Mapping[str, Any]
) -> int | None:
    """The tick near the middle of a phrase before which its tune rests or holds, and after which it has its highest note; None
    where it has no such place.

    Args:
        notes: the tune's principal line in the phrase, in time order.
        start, end: of the phrase, ticks.
        table: [half] of constraints/plan.toml.
    """
    waits = {b.onset: b.onset - a.onset for a, b in pairwise(notes) if b.onset > a.onset}
    if not waits:
        return None
    least = table["least_bars"] * sketch.bar_at(start).length
    usual = median(waits.values())
    top = max(note.pitch.midi for note in notes)
    crest = max(note.onset for note in notes if note.pitch.midi == top)
    fitting = [
        tick
        for tick, wait in waits.items()
        if start + least <= tick <= min(crest, end - least)
        and abs(2 * tick - start - end) <= table["off_middle"] * (end - start)
        and wait >= table["held"] * usual
    ]
    return max(fitting, key=lambda tick: (waits[tick], -abs(2 * tick - start - end), -tick), default=None)


def halved(phrase: PhrasePlan, joint: int | None) -> PhrasePlan:
    """The phrase with one player fewer on its tune up to the joint; as it is where nobody joins it, or it turns otherwise."""
    if joint is None or phrase.turns or phrase.scheme == UNISON or not phrase.joined:
        return phrase
    joining = Turn(
        joint, phrase.dynamic, phrase.weight, phrase.joined, phrase.ground, phrase.bass, phrase.octaves, phrase.doublers,
        phrase.scheme, tune=True,
    )  # fmt: skip
    doublers = phrase.doublers - 1
    return replace(
        phrase,
        joined=phrase.joined[:-1],
        doublers=doublers,
        octaves=min(phrase.octaves, doublers),
        turns=(joining,),
    )
