"""Tempo marks: how they are written, and ticks to seconds along them."""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction

from autoorch.sketch.model import Sketch

FASTEST = 2000
"""Quarters a minute; anything above is a slip of the file."""


def tempo_text(quarters: Fraction) -> str:
    """Quarters a minute as a tempo mark's value, to three decimals; "" where that is no tempo."""
    return f"{float(quarters):.3f}".rstrip("0").rstrip(".") if 1 <= quarters <= FASTEST else ""


class TempoMap:
    """Seconds at a tick, by the sketch's tempo marks; `default` quarters a minute hold until the first of them.

    Attributes:
        changes: (tick, quarters a minute), the first one at tick 0.
    """

    def __init__(self, sketch: Sketch, default: float) -> None:
        marks = {0: default}
        for mark in sketch.marks:
            if mark.kind == "tempo" and mark.value and float(mark.value) > 0:
                marks[max(0, mark.onset)] = float(mark.value)
        self.changes = tuple(sorted(marks.items()))
        self._ticks = [tick for tick, _ in self.changes]
        self._rates = [60.0 / (bpm * sketch.ticks) for _, bpm in self.changes]
        self._seconds = [0.0]
        for index in range(1, len(self._ticks)):
            length = self._ticks[index] - self._ticks[index - 1]
            self._seconds.append(self._seconds[-1] + length * self._rates[index - 1])

    def seconds(self, tick: float) -> float:
        """Seconds from the start of the first bar to `tick`."""
        index = max(0, bisect_right(self._ticks, tick) - 1)
        return self._seconds[index] + (tick - self._ticks[index]) * self._rates[index]
