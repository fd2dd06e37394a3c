"""A MIDI file as a sketch: strands become staves, metres become bars, numbers become names."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from fractions import Fraction
from math import ceil, lcm
from statistics import median

import numpy as np

from autoorch.errors import SketchError
from autoorch.sketch.guard import Limits
from autoorch.sketch.midi.hands import split_hands
from autoorch.sketch.midi.metre import Known
from autoorch.sketch.midi.notated import GRID, off_grid, place_notated
from autoorch.sketch.midi.played import NOTHING, SCHEMA, Placed, Span, clock, heard, place_played
from autoorch.sketch.midi.spelling import likely_fifths, spelled
from autoorch.sketch.midi.take import Take, read_take
from autoorch.sketch.model import SMALLEST_UNIT, Bar, Mark, Sketch, Staff
from autoorch.sketch.number import Loose, numbered
from autoorch.sketch.staves import hint
from autoorch.sketch.tempo import tempo_text
from autoorch.tables import Tables, load_tables

PLAYED = Fraction(1, 3)
"""A file with more of its onsets off the grid was played in: notation with odd tuplets stays below, playing far above."""
COMMON_TIME = (4, 4)
"""Metre of a file that names none (Standard MIDI Files 1.0)."""
_MICROSECONDS = 60_000_000
_TOO_LONG = "has more than {:,} bars; that is no sketch"


def read_midi(
    data: bytes,
    file: str,
    limits: Limits,
    played: bool | None = None,
    tables: Tables | None = None,
    known: Known = NOTHING,
) -> Sketch:
    """The sketch in the bytes of a MIDI file.

    Args:
        played: whether it was played in; found out where None, and said in the notices.
        known: what is told of its beats and bars; then it was played in.
        tables: the packaged ones where None; how played MIDI is read stands in `beats`.

    Raises:
        SketchError: where the file is broken, has no notes or is beyond the limits.
    """
    take = read_take(data, file, limits)
    off = off_grid(take)
    if known and played is False:
        raise SketchError("tempo and metre are told of what was played in; notation has its own", file)
    told = True if known else played
    placed = None
    if off > PLAYED if told is None else told:
        take, placed = _by_hand(take, file, limits, tables or load_tables(), known)
    places = placed.notes if placed else place_notated(take)
    spans = placed.bars if placed and placed.bars else _spans(take, max(a + b for a, b in places), file, limits)
    if len(spans) > limits.bars:
        raise SketchError(_TOO_LONG.format(limits.bars), file)
    ticks = _unit([*(value for pair in places for value in pair), *(length for _, length, _ in spans)], file, limits)
    keys = _Keys(take, placed)
    notes, ids = numbered(_loose(take, places, ticks, keys))
    bars = _bars(spans, ticks, keys, placed is not None and placed.bars is not None)
    raw, moved = _as_played(take, placed, ids) if placed else ({}, {})
    return Sketch(
        ticks,
        tuple(
            Staff(index, strand.name, hint(strand.name) or hint(strand.instrument))
            for index, strand in enumerate(take.strands)
        ),
        bars,
        notes,
        (),
        _marks(take, ticks, bars[-1].end, placed),
        take.title if hint(take.title) else "",
        "",
        "midi",
        take.lost,
        (*_decided(take, off, placed, told is not None), *take.notices),
        raw,
        moved=moved,
    )


def _by_hand(take: Take, file: str, limits: Limits, tables: Tables, known: Known) -> tuple[Take, Placed]:
    """(the take with its hands apart, where its notes go)."""
    if take.end > limits.bars * limits.bar_quarters * take.quarter:
        raise SketchError(_TOO_LONG.format(limits.bars), file)
    table = tables.rule("beats", SCHEMA)
    take = split_hands(take, table["hands"])
    try:
        return take, place_played(take, table, known)
    except SketchError as error:
        raise SketchError(str(error), file) from None


def _unit(quarters: Iterable[Fraction], file: str, limits: Limits) -> int:
    """Ticks a quarter of which all these are whole numbers."""
    ticks = lcm(*{value.denominator for value in quarters})
    if ticks > limits.ticks:
        raise SketchError("its onsets have no common unit; quantise them or read it as played", file)
    return ticks


def _loose(take: Take, places: list[tuple[Fraction, Fraction]], ticks: int, keys: _Keys) -> list[Loose]:
    """The take's notes at their places, named by the key in force."""
    return [
        Loose(
            int(onset * ticks),
            int(length * ticks),
            spelled(note.key, *keys.of_note(note.start)),
            note.strand,
            0,
            note.velocity,
            lyric=note.lyric,
        )
        for note, (onset, length) in zip(take.notes, places, strict=True)
    ]


def _bars(spans: list[Span], ticks: int, keys: _Keys, found: bool) -> tuple[Bar, ...]:
    """The bars; where they were found, a first one shorter than its metre is an upbeat, numbered 0."""
    _, length, (beats, unit) = spans[0]
    upbeat = found and length < Fraction(4 * beats, unit)
    return tuple(
        Bar(index, str(index + 1 - upbeat), int(start * ticks), int(length * ticks), metre, *keys.of_bar(start, length))
        for index, (start, length, metre) in enumerate(spans)
    )


class _Keys:
    """Key in force, as (sharps, mode); the likeliest one throughout where the file names none."""

    def __init__(self, take: Take, placed: Placed | None) -> None:
        self._keys = take.keys or [(0, likely_fifths(take), "")]
        self._ticks = [tick for tick, _, _ in self._keys]
        self._starts = [_quarters(take, placed if placed and placed.bars else None, tick) for tick in self._ticks]
        self._by_hand = placed is not None

    def of_note(self, tick: int) -> tuple[int, str]:
        """At a tick of the file."""
        return self._keys[max(0, bisect_right(self._ticks, tick) - 1)][1:]

    def of_bar(self, start: Fraction, length: Fraction) -> tuple[int, str]:
        """At the start of a bar in quarters; in the middle of one that was played, where changes miss the bar line."""
        at = start + length / 2 if self._by_hand else start
        return self._keys[max(0, bisect_right(self._starts, at) - 1)][1:]


def _spans(take: Take, end: Fraction, file: str, limits: Limits) -> list[Span]:
    """(start, length, metre) of each bar, in quarters; a change of metre inside a bar cuts it short."""
    changes = [(Fraction(tick, take.quarter), (beats, unit)) for tick, beats, unit in take.metres]
    if not changes or changes[0][0] > 0:
        changes.insert(0, (Fraction(0), COMMON_TIME))
    stops = [min(start, end) for start, _ in changes[1:]] + [end]
    spans: list[Span] = []
    for (start, metre), stop in zip(changes, stops, strict=True):
        if not metre[0] or metre[1] > SMALLEST_UNIT:
            raise SketchError(f"has a metre without beats or with beats shorter than 1/{SMALLEST_UNIT}", file)
        length = Fraction(4 * metre[0], metre[1])
        count = max(0, ceil((stop - start) / length))
        if len(spans) + count > limits.bars:
            raise SketchError(_TOO_LONG.format(limits.bars), file)
        last = stop == end
        spans += [
            (start + k * length, length if last else min(length, stop - start - k * length), metre)
            for k in range(count)
        ]
    return spans


def _as_played(take: Take, placed: Placed, ids: list[str]) -> tuple[dict[str, tuple[float, float]], dict[str, float]]:
    """`raw` and `moved` of the sketch, in the order of the notes' numbers."""
    onsets, ends = heard(take)
    rows = sorted(zip(ids, onsets, ends - onsets, placed.moved, strict=True), key=lambda row: int(row[0][1:]))
    return {key: (float(at), float(length)) for key, at, length, _ in rows}, {key: way for key, _, _, way in rows}


def _marks(take: Take, ticks: int, end: int, placed: Placed | None) -> tuple[Mark, ...]:
    """Tempos, pedals and texts; what was played or stands with a note goes where that went, the rest keeps its click."""
    struck = {note.start: onset for note, (onset, _) in zip(take.notes, placed.notes, strict=True)} if placed else {}
    moves = placed is not None and placed.bars is not None

    def place(tick: int, played: bool) -> int:
        quarters = struck.get(tick, _quarters(take, placed if played or moves else None, tick))
        return min(end, round(quarters * ticks))

    marks = []
    before = ""
    found = placed is not None and placed.late is None
    tempos = [(0, round(placed.pace * 1_000_000))] if placed and found else take.tempos
    for tick, pace in tempos:
        rate = Fraction(_MICROSECONDS, max(1, pace))
        value = tempo_text(Fraction(max(1, round(rate))) if found else rate)
        if value and value != before:
            at = place(tick, False) if tick else 0
            marks.append(Mark("tempo", at, at, -1, value))
        before = value or before
    marks += [Mark("pedal", place(down, True), place(up, True), strand, "") for down, up, strand in take.pedals]
    marks += [
        Mark(kind, place(tick, False), place(tick, False), strand, text) for tick, kind, strand, text in take.texts
    ]
    return tuple(sorted(marks, key=lambda mark: mark.onset))


def _quarters(take: Take, placed: Placed | None, tick: int) -> Fraction:
    """Where a tick of the file comes in quarters."""
    if placed is None:
        return Fraction(tick, take.quarter)
    return placed.at(float(clock(take)(np.array([float(tick)]))[0]))


def _decided(take: Take, off: Fraction, placed: Placed | None, told: bool) -> tuple[str, ...]:
    """What the reader decided and the user should know."""
    why = "as told" if told else f"{round(100 * off)} % of the onsets lie off the {GRID}th parts of a quarter"
    lines = []
    if placed is None and (off or told):
        lines.append(f"read as written in notation ({why}): onsets kept, early releases closed; --played quantises it")
    elif placed is not None:
        moved = sorted(abs(each) for each in placed.moved)
        grid = "found beats and bars"
        if placed.late is not None:
            side = "after" if placed.late > 0 else "before"
            grid = "the file's click" + (
                f", the whole {abs(placed.late):.2f} of a quarter {side} it" if placed.late else ""
            )
            grid += ", with bars found in the music" if placed.bars else ""
        lines.append(
            f"read as played in ({why}): onsets moved to divisions of {grid}, by {median(moved):.3f} s in the middle, "
            f"{moved[-1]:.3f} s at most; --notated reads it as it stands"
        )
        if placed.late is None:
            low, high = placed.paces
            lines.append(
                f"beats found in the playing: quarters of {low:.2f} to {high:.2f} s, {placed.pace:.2f} in the middle "
                f"({60 / placed.pace:.0f} a minute); --tempo and --metre where others are meant"
            )
    if not take.metres and not (placed and placed.bars):
        lines.append("no metre given: common time assumed")
    if not take.keys:
        lines.append("no key given: names of the notes follow the likeliest one")
    return tuple(lines)
