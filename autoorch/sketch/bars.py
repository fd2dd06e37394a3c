"""Bars as people name them: by printed number where that is unique, else counted ("#9" always is); runs of bars and beats in
ticks."""

from __future__ import annotations

import re
from collections.abc import Collection

from autoorch.brief import Bars
from autoorch.errors import BriefError
from autoorch.sketch.model import Bar, Sketch

COUNTED = "#"
"""Begins the name of a bar that is counted from 1, whatever is printed."""


def name_of(sketch: Sketch, bar: Bar) -> str:
    """The name by which `find_bar` finds that bar and no other."""
    unique = sum(other.number == bar.number for other in sketch.bars) == 1
    return bar.number if unique and re.fullmatch(r"\w+", bar.number) else f"{COUNTED}{bar.index + 1}"


def find_bar(sketch: Sketch, name: str, music: str = "the sketch") -> Bar:
    """The bar of that printed number where it is unique, else the bar of that count from 1, as "#9" is in any case; `music` is
    for messages.

    Raises:
        BriefError: where there is none.
    """
    printed = [bar for bar in sketch.bars if bar.number == name]
    if len(printed) == 1:
        return printed[0]
    count = name.removeprefix(COUNTED)
    if count.isdecimal() and 1 <= int(count) <= len(sketch.bars):
        return sketch.bars[int(count) - 1]
    raise BriefError(f"there is no bar {name}; {music} has bars {sketch.bars[0].number} to {sketch.bars[-1].number}")


def ticks_of(sketch: Sketch, bars: Bars | None, music: str = "the sketch") -> tuple[int, int]:
    """(start, end) in ticks of a run of bars; the whole cue for None.

    Raises:
        BriefError: for a bar that is not there or an empty run.
    """
    if bars is None:
        return 0, sketch.end
    first, last = find_bar(sketch, bars.first, music), find_bar(sketch, bars.last, music)
    start = first.onset + _beats(sketch, first, bars.from_beat - 1)
    end = last.end if bars.to_beat is None else last.onset + _beats(sketch, last, bars.to_beat)
    if end <= start:
        raise BriefError(f"bars {bars} are no run of bars")
    return start, end


def bars_of(sketch: Sketch, start: int, end: int) -> Bars:
    """The run of bars and beats from `start` to `end` (ticks), as a brief names it."""
    first, last = sketch.bar_at(start), sketch.bar_at(max(start, end - 1))
    unit = 4 * sketch.ticks
    from_beat = 1 + (start - first.onset) * first.metre[1] / unit
    to_beat = None if end >= last.end else (end - last.onset) * last.metre[1] / unit
    return Bars(name_of(sketch, first), name_of(sketch, last), from_beat, to_beat)


def spelled(sketch: Sketch, start: int, end: int) -> str:
    """ "bar 9" or "bars 9-12" of the ticks from `start` to before `end`."""
    return runs(sketch, range(sketch.bar_at(start).index, sketch.bar_at(max(start, end - 1)).index + 1))


def mainly(sketch: Sketch, start: int, end: int) -> list[int]:
    """Indices of the bars of which at least half lies from `start` to before `end`: a phrase's, without its upbeat; the bar at
    `start` where there are none."""
    inside = [bar.index for bar in sketch.bars if start <= bar.onset + bar.length // 2 < end]
    return inside or [sketch.bar_at(start).index]


def runs(sketch: Sketch, bars: Collection[int]) -> str:
    """ "bars 9-12, 15" of bar indices."""
    found: list[list[int]] = []
    for bar in sorted(bars):
        if found and found[-1][1] == bar - 1:
            found[-1][1] = bar
        else:
            found.append([bar, bar])
    name = [f"{sketch.bars[a].number}-{sketch.bars[b].number}" if a < b else sketch.bars[a].number for a, b in found]
    return ("bars " if len(bars) > 1 else "bar ") + ", ".join(name)


def beat_at(sketch: Sketch, tick: int) -> float:
    """The beat of its bar that a tick stands on, from 1, in the unit of the metre."""
    bar = sketch.bar_at(tick)
    return 1 + (tick - bar.onset) * bar.metre[1] / (4 * sketch.ticks)


def _beats(sketch: Sketch, bar: Bar, beats: float) -> int:
    return round(beats * sketch.ticks * 4 / bar.metre[1])
