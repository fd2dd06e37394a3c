"""Hairpins where the sketch has none: into and out of a phrase's crest, and up to the peak of the cue."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from statistics import median

from autoorch.instruments import DYNAMICS
from autoorch.layers.cue import Cue
from autoorch.sketch.bars import runs
from autoorch.sketch.model import Mark

CRESCENDO, DIMINUENDO = "crescendo", "diminuendo"


def into_crests(cue: Cue) -> tuple[Mark, ...]:
    """Into and out of the crest of each phrase that has one, in time order, for those who sing or hold."""
    return tuple(_crests(cue))


def to_the_peak(cue: Cue) -> tuple[Mark, ...]:
    """For everybody who plays there, over no other."""
    return tuple(_to_the_peak(cue))


def told(cue: Cue, marks: tuple[Mark, ...]) -> tuple[str, ...]:
    """One plain line that names the bars of our own hairpins."""
    bars = {cue.sketch.bar_at(mark.onset).index for mark in marks}
    return (f"hairpins that the sketch does not have begin in {runs(cue.sketch, bars)}",) if bars else ()


def _crests(cue: Cue) -> Iterator[Mark]:
    table = cue.tables.rule("finish")["hairpins"]
    for k, plan in enumerate(cue.plan):
        bar = cue.sketch.bar_at(plan.start).length
        tune = [n for n in cue.tune if plan.start <= n.onset < plan.end]
        if (
            not tune
            or cue.reading.phrases[k].character not in table["characters"]
            or plan.dynamic in table["too_loud"]
            or _marked(cue, plan.start, plan.end)
        ):
            continue
        top = max(tune, key=lambda n: (n.pitch.midi, n.duration, -n.onset))
        place = (top.onset - plan.start) / (plan.end - plan.start)
        if plan.end - plan.start < table["least_bars"] * bar or not table["crest"][0] <= place <= table["crest"][1]:
            continue
        start = max(plan.start, top.onset - round(table["before_bars"] * bar))
        end = min(plan.end, max(top.end, top.onset + round(table["after_bars"] * bar)))
        before = [n.pitch.midi for n in tune if start <= n.onset < top.onset]
        risen = top.pitch.midi - min(before, default=top.pitch.midi) >= table["rise"]
        leg = table["least_quarters"] * cue.sketch.ticks
        if (
            not risen
            or min(top.onset - start, end - top.onset) < leg
            or top.duration < median(n.duration for n in tune)
        ):
            continue
        yield Mark("wedge", start, top.onset, -1, CRESCENDO)
        yield Mark("wedge", top.onset, end, -1, DIMINUENDO)


def _to_the_peak(cue: Cue) -> Iterator[Mark]:
    """Over the last bars before a peak that is louder; not where the sketch makes it sudden, or marks the way itself."""
    table = cue.tables.rule("finish")["hairpins"]
    sudden = {moment.onset for moment in cue.moments if moment.kind == "sudden"}
    for before, plan in pairwise(cue.plan):
        if not plan.peak:
            continue
        louder = DYNAMICS.index(plan.dynamic) > DYNAMICS.index(cue.dynamic_at(plan.start - 1))
        start = max(before.start, plan.start - round(table["peak_bars"] * cue.sketch.bar_at(plan.start - 1).length))
        free = not any(start < mark.end and mark.onset < plan.start for mark in _crests(cue))
        if louder and free and plan.start not in sudden and not _marked(cue, start, plan.start):
            yield Mark("wedge", start, plan.start, -1, CRESCENDO)


def _marked(cue: Cue, start: int, end: int) -> bool:
    """The sketch says in [start, end) how loudness goes: a hairpin, a word, or a dynamic after its beginning."""
    words = tuple(cue.tables.rule("finish")["hairpins"]["words"])
    for mark in cue.sketch.marks:
        inside = mark.onset < end and max(mark.end, mark.onset + 1) > start
        if inside and mark.kind == "wedge":
            return True
        if inside and mark.kind == "words" and any(word in mark.value.lower() for word in words):
            return True
        if mark.kind == "dynamic" and start < mark.onset < end:
            return True
    return False
