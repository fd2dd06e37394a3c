"""Written cues of the sketch ("2 Fl 8va", "Str. trem.", "solo Cl") as directions with their place and extent.

The words stand in constraints/cues.toml, in the trade's English, German, French and Italian. A cue holds to the next one on
its staff or to the phrase's end. What is not understood is kept as text and listed.
"""

from __future__ import annotations

from dataclasses import replace

from autoorch.brief import Bars, Direction
from autoorch.sketch.model import Sketch


def bars_of(sketch: Sketch, start: int, end: int) -> Bars:
    """The run of bars and beats from `start` to `end` (ticks), as a brief names it."""
    first, last = sketch.bar_at(start), sketch.bar_at(max(start, end - 1))
    numbers = [bar.number for bar in sketch.bars]

    def name(index: int) -> str:
        return numbers[index] if numbers.count(numbers[index]) == 1 else str(index + 1)

    unit = 4 * sketch.ticks
    from_beat = 1 + (start - first.onset) * first.metre[1] / unit
    to_beat = None if end >= last.end else (end - last.onset) * last.metre[1] / unit
    return Bars(name(first.index), name(last.index), from_beat, to_beat)


def direction_at(sketch: Sketch, direction: Direction, start: int, end: int) -> Direction:
    """The direction over its place, with where it comes from."""
    return replace(direction, bars=bars_of(sketch, start, end), origin=f"sketch, bar {sketch.bar_at(start).number}")
