"""Controller curves of players who can change a held note: they follow dynamics and hairpins, and shape each phrase a little."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import ceil

from autoorch.score.model import Score
from autoorch.write.clock import QUARTER, Clock
from autoorch.write.dynamics import VELOCITY
from autoorch.write.loudness import Loudness
from autoorch.write.manner import Manner
from autoorch.write.playing import Sound

EXPRESSION = 11
"""The controller."""
SUSTAINED = ("wind", "bowed", "voice")
"""Kinds of instruments that can."""


def curve(
    score: Score, order: Sequence[int], clock: Clock, loudness: Loudness, played: Sequence[Sound], manner: Manner
) -> list[tuple[int, int]]:
    """(MIDI tick, controller value) wherever the value changes; the first at tick 0."""
    levels = list(_levels(score, order, clock, loudness, manner))
    ticks = [tick for tick, _, _ in levels]
    table = manner["expression"]
    shaped: dict[int, float] = {}
    for start, end in _phrases(played, manner):
        here = slice(max(0, bisect_right(ticks, start) - 1), bisect_left(ticks, end))
        if end - start < table["least"] * QUARTER or any(moving for _, _, moving in levels[here]):
            shaped[start] = 0.0
            continue
        crest = start + (end - start) * table["crest"]
        for tick in {*range(start, end, QUARTER // table["divisions"]), *(t for t in ticks[here] if t >= start)}:
            shaped[tick] = (crest - tick) / (crest - start) if tick < crest else (tick - crest) / (end - crest)
    found: list[tuple[int, int]] = []
    away = 0.0
    for tick in sorted({*ticks, *shaped}):
        at = max(0, bisect_right(ticks, tick) - 1)
        away = 0.0 if levels[at][2] else shaped.get(tick, away)
        value = round(levels[at][1] * (1 - table["swell"] * away))
        if not found or found[-1][1] != value:
            found.append((tick, value))
    return found


def _levels(
    score: Score, order: Sequence[int], clock: Clock, loudness: Loudness, manner: Manner
) -> Iterator[tuple[int, float, bool]]:
    """(MIDI tick, level, inside a hairpin) at each bar, dynamic and step of a hairpin."""
    step = Fraction(score.ticks, manner["expression"]["divisions"])
    moves: dict[Fraction, bool] = {Fraction(bar.onset): False for bar in score.bars}
    for ramp in loudness.ramps:
        count = max(1, ceil((ramp.end - ramp.start) / step))
        for k in range(count + 1):
            moves[ramp.start + min(k * step, Fraction(ramp.end - ramp.start))] = ramp.end > ramp.start
    written = sorted(moves.items())
    ticks = [tick for tick, _ in written]
    for index, start in zip(order, clock.starts, strict=True):
        bar = score.bars[index]
        for tick, moving in written[bisect_left(ticks, bar.onset) : bisect_left(ticks, bar.end)]:
            level = controller(loudness.at(tick), manner["expression"]["softest"])
            yield clock.midi(start - bar.onset + tick), level, moving


def controller(velocity: float, softest: int) -> float:
    """Value of EXPRESSION that goes with a velocity; `softest` goes with ppp."""
    low, high = VELOCITY["ppp"], VELOCITY["fff"]
    share = min(1.0, max(0.0, (velocity - low) / (high - low)))
    return softest + share * (127 - softest)


def _phrases(played: Sequence[Sound], manner: Manner) -> Iterator[tuple[int, int]]:
    """Stretches of MIDI ticks from one rest to the next; very long ones in equal parts."""
    rest = manner["expression"]["rest"] * QUARTER
    runs: list[list[int]] = []
    for sound in played:
        if runs and sound.start - runs[-1][1] < rest:
            runs[-1][1] = max(runs[-1][1], sound.end)
        else:
            runs.append([sound.start, sound.end])
    for start, end in runs:
        count = ceil((end - start) / (manner["expression"]["longest"] * QUARTER))
        edges = [start + (end - start) * k // count for k in range(count + 1)]
        yield from pairwise(edges)
