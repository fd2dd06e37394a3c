"""The bars of a MusicXML score, out of what its parts say of each: length, metre, key, number, repeats and endings."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import accumulate

from autoorch.sketch.model import Bar
from autoorch.sketch.musicxml.count import Count
from autoorch.sketch.musicxml.part import Part
from autoorch.sketch.musicxml.written import ZERO, BarLine

COMMON_TIME = (4, 4)
"""Metre of a file that names none (common practice)."""


def bar_lengths(parts: Sequence[Part]) -> list[Fraction]:
    """Quarters of each bar: as much as its fullest part holds; a full metre where all are empty."""
    metre = COMMON_TIME
    lengths = []
    for index in range(max(len(part.lengths) for part in parts)):
        metre = next((part.attributes.metres[index] for part in parts if index in part.attributes.metres), metre)
        length = max(part.lengths[index] if index < len(part.lengths) else ZERO for part in parts)
        lengths.append(length or Fraction(4 * metre[0], metre[1]))
    return lengths


def make_bars(parts: Sequence[Part], lengths: Sequence[int], ticks: int, count: Count) -> tuple[Bar, ...]:
    """The bars, `lengths` in ticks."""
    metre, (fifths, mode) = COMMON_TIME, (0, "")
    lines = [_merged(parts, index) for index in range(len(lengths))]
    endings = _endings(lines)
    bars = []
    for index, (length, onset) in enumerate(zip(lengths, accumulate(lengths, initial=0), strict=False)):
        metres = [part.attributes.metres[index] for part in parts if index in part.attributes.metres]
        keys = [part.attributes.keys[index] for part in parts if index in part.attributes.keys]
        metre = metres[0] if metres else metre
        fifths, mode = keys[0] if keys else (fifths, mode)
        if any(other != metre for other in metres):
            count.give_up("metre of a single part", "metres of single parts")
        if any(other[0] != fifths for other in keys):
            count.give_up("key signature of a single part", "key signatures of single parts")
        line = lines[index]
        bars.append(
            Bar(
                index,
                _number(parts, index, 4 * metre[0] * ticks, length * metre[1]),
                onset,
                length,
                metre,
                fifths,
                mode,
                line.repeat_start,
                line.repeat_end,
                endings[index],
                line.fermata,
                "" if line.repeat_end else line.barline,
            )
        )
    return tuple(bars)


def uneven(bars: Sequence[Bar], ticks: int, implicit: Sequence[bool]) -> str:
    """A line that names the bars inside the piece that do not fill their metre, or overfill it; "" where all do.

    Pickups, last bars, bars without a number of their own and two neighbours that make up one bar are as they should be.
    """

    def missing(bar: Bar) -> int:
        return 4 * bar.metre[0] * ticks - bar.metre[1] * bar.length

    found = []
    for bar in bars[1:-1]:
        gap = missing(bar)
        halves = any(
            missing(other) + gap == 4 * bar.metre[0] * ticks for other in (bars[bar.index - 1], bars[bar.index + 1])
        )
        if gap and not halves and not implicit[bar.index]:
            found.append(bar.number)
    if not found:
        return ""
    named = ", ".join(found[:8]) + (", …" if len(found) > 8 else "")
    return f"{'bar' if len(found) == 1 else 'bars'} {named}: not as long as the metre says; taken as written"


def _number(parts: Sequence[Part], index: int, full: int, held: int) -> str:
    part = next((part for part in parts if index < len(part.numbers) and part.numbers[index]), None)
    if part is None:
        return str(index + 1)
    return "0" if index == 0 and part.implicit[0] and held < full else part.numbers[index]


def _merged(parts: Sequence[Part], index: int) -> BarLine:
    """What any part says of the bar; programs often write repeats in the first part only."""
    found = BarLine()
    for line in (part.lines[index] for part in parts if index in part.lines):
        found.repeat_start |= line.repeat_start
        found.repeat_end = max(found.repeat_end, line.repeat_end)
        found.ending_start = found.ending_start or line.ending_start
        found.ending_stop |= line.ending_stop
        found.fermata |= line.fermata
        found.barline = found.barline or line.barline
    return found


def _endings(lines: Sequence[BarLine]) -> list[tuple[int, ...]]:
    """The volta over each bar; one that the file never closes ends with its repeat."""
    found: list[tuple[int, ...]] = []
    current: tuple[int, ...] = ()
    for line in lines:
        current = line.ending_start or current
        found.append(current)
        if line.ending_stop or line.repeat_end:
            current = ()
    return found
