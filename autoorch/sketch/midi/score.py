"""A MIDI file as a sketch: strands become staves, metres become bars, numbers become names."""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction
from math import ceil, lcm
from statistics import median

from autoorch.errors import SketchError
from autoorch.sketch.guard import Limits
from autoorch.sketch.midi.notated import GRID, off_grid, place_notated
from autoorch.sketch.midi.played import place_played, seconds
from autoorch.sketch.midi.spelling import likely_fifths, spelled
from autoorch.sketch.midi.take import Take, read_take
from autoorch.sketch.model import Bar, Mark, Sketch, Staff
from autoorch.sketch.number import Loose, numbered
from autoorch.sketch.staves import hint
from autoorch.sketch.tempo import tempo_text

PLAYED = Fraction(1, 3)
"""A file with more of its onsets off the grid was played in: notation with odd tuplets stays below, playing far above."""
SMALLEST_UNIT = 128
"""Shortest beat unit of a metre, as in 1/128."""
COMMON_TIME = (4, 4)
"""Metre of a file that names none (Standard MIDI Files 1.0)."""
_MICROSECONDS = 60_000_000


def read_midi(data: bytes, file: str, limits: Limits, played: bool | None = None) -> Sketch:
    """The sketch in the bytes of a MIDI file.

    Args:
        played: whether it was played in; found out where None, and said in the notices.

    Raises:
        SketchError: where the file is broken, has no notes or is beyond the limits.
    """
    take = read_take(data, file, limits)
    off = off_grid(take)
    by_hand = off > PLAYED if played is None else played
    places = place_played(take) if by_hand else place_notated(take)
    spans = _spans(take, max(onset + length for onset, length in places), file, limits)
    keys = _Keys(take)
    ticks = lcm(
        *{value.denominator for pair in places for value in pair}, *{length.denominator for _, length, _ in spans}
    )
    if ticks > limits.ticks:
        raise SketchError("its onsets have no common unit; quantise them or read it as played", file)
    loose = [
        Loose(
            int(onset * ticks),
            int(length * ticks),
            spelled(note.key, *keys.at(Fraction(note.start, take.quarter))),
            note.strand,
            0,
            note.velocity,
            lyric=note.lyric,
        )
        for note, (onset, length) in zip(take.notes, places, strict=True)
    ]
    notes, ids = numbered(loose)
    bars = tuple(
        Bar(index, str(index + 1), int(start * ticks), int(length * ticks), metre, *keys.at(start))
        for index, (start, length, metre) in enumerate(spans)
    )
    raw = sorted(zip(ids, seconds(take), strict=True), key=lambda each: int(each[0][1:])) if by_hand else []
    return Sketch(
        ticks,
        tuple(
            Staff(index, strand.name, hint(strand.name) or hint(strand.instrument))
            for index, strand in enumerate(take.strands)
        ),
        bars,
        notes,
        (),
        _marks(take, ticks, bars[-1].end),
        take.title if hint(take.title) else "",
        "",
        "midi",
        take.lost,
        (*_decided(take, places, off, by_hand, played is not None), *take.notices),
        dict(raw),
    )


class _Keys:
    """Key in force by place; the likeliest one throughout where the file names none."""

    def __init__(self, take: Take) -> None:
        self._keys = take.keys or [(0, likely_fifths(take), "")]
        self._starts = [Fraction(tick, take.quarter) for tick, _, _ in self._keys]

    def at(self, quarters: Fraction) -> tuple[int, str]:
        """(sharps, mode) at a place in quarters."""
        return self._keys[max(0, bisect_right(self._starts, quarters) - 1)][1:]


def _spans(take: Take, end: Fraction, file: str, limits: Limits) -> list[tuple[Fraction, Fraction, tuple[int, int]]]:
    """(start, length, metre) of each bar, in quarters; a change of metre inside a bar cuts it short."""
    changes = [(Fraction(tick, take.quarter), (beats, unit)) for tick, beats, unit in take.metres]
    if not changes or changes[0][0] > 0:
        changes.insert(0, (Fraction(0), COMMON_TIME))
    stops = [min(start, end) for start, _ in changes[1:]] + [end]
    spans: list[tuple[Fraction, Fraction, tuple[int, int]]] = []
    for (start, metre), stop in zip(changes, stops, strict=True):
        if not metre[0] or metre[1] > SMALLEST_UNIT:
            raise SketchError(f"has a metre without beats or with beats shorter than 1/{SMALLEST_UNIT}", file)
        length = Fraction(4 * metre[0], metre[1])
        count = max(0, ceil((stop - start) / length))
        if len(spans) + count > limits.bars:
            raise SketchError(f"has more than {limits.bars:,} bars; that is no sketch", file)
        last = stop == end
        spans += [
            (start + k * length, length if last else min(length, stop - start - k * length), metre)
            for k in range(count)
        ]
    return spans


def _marks(take: Take, ticks: int, end: int) -> tuple[Mark, ...]:
    def place(tick: int) -> int:
        return min(end, round(Fraction(tick * ticks, take.quarter)))

    marks = []
    before = ""
    for tick, pace in take.tempos:
        value = tempo_text(Fraction(_MICROSECONDS, pace))
        if value and value != before:
            marks.append(Mark("tempo", place(tick), place(tick), -1, value))
        before = value or before
    marks += [Mark("pedal", place(down), place(up), strand, "") for down, up, strand in take.pedals]
    marks += [Mark(kind, place(tick), place(tick), strand, text) for tick, kind, strand, text in take.texts]
    return tuple(sorted(marks, key=lambda mark: mark.onset))


def _decided(
    take: Take, places: list[tuple[Fraction, Fraction]], off: Fraction, by_hand: bool, told: bool
) -> tuple[str, ...]:
    """What the reader decided and the user should know."""
    why = "as told" if told else f"{round(100 * off)} % of the onsets lie off the {GRID}th parts of a quarter"
    if by_hand:
        moved = [
            abs(float(onset - Fraction(note.start, take.quarter)))
            for note, (onset, _) in zip(take.notes, places, strict=True)
        ]
        how = (
            f"onsets moved to sixteenths or triplets of the file's click, by {median(moved):.3f} quarters in the middle"
        )
        lines = [f"read as played in ({why}): {how}, {max(moved):.3f} at most; --notated reads it as it stands"]
    else:
        lines = [f"read as written in notation ({why}): onsets kept, early releases closed; --played quantises it"]
    if not take.metres:
        lines.append("no metre given: common time assumed")
    if not take.keys:
        lines.append("no key given: names of the notes follow the likeliest one")
    return tuple(lines)
