"""Time of the mock-up: ticks of the score, along the bars as they are played, as MIDI ticks."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from autoorch.score.model import Score

QUARTER = 480
"""MIDI ticks."""


class Clock:
    """Score ticks to MIDI ticks, along the played bars.

    Attributes:
        starts: for each played bar its first tick, counted from the beginning of the playing; `end`: the last tick.
    """

    def __init__(self, score: Score, order: Sequence[int]) -> None:
        self.ticks = score.ticks
        self.starts: list[int] = []
        at = 0
        for index in order:
            self.starts.append(at)
            at += score.bars[index].length
        self.end = at

    def midi(self, tick: int | Fraction) -> int:
        """The nearest MIDI tick (halves go up); each by itself, so that nothing drifts."""
        return int((2 * tick * QUARTER + self.ticks) // (2 * self.ticks))
