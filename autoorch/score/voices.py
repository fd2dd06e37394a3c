"""One player's notes laid out on staves and in voices, bar by bar: chords where rhythms agree, two voices where they differ.

A layout holds for a run of bars that held notes join, so that no tie ever leaves its voice.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from autoorch.lineup import Player
from autoorch.problem.feasible import in_hand
from autoorch.score.streams import Played
from autoorch.sketch.model import Bar

MIDDLE_C = 60
HAND = 7
"""A line that goes farther than this (semitones) to both sides of middle C is shared out between the two staves."""


@dataclass(frozen=True, slots=True)
class Slice:
    """A stretch of one voice inside one bar in which the same notes sound; `start` and `end` are ticks of the score."""

    start: int
    end: int
    notes: tuple[Played, ...]


@dataclass(frozen=True, slots=True)
class Voice:
    """One voice of one bar: `number` 0 (upper) or 1 on `staff` (from 1); `slices` cover the bar without gaps."""

    staff: int
    number: int
    slices: tuple[Slice, ...]


def lay_out(
    player: Player, notes: Sequence[Played], bars: Sequence[Bar], hand: Mapping[str, int]
) -> tuple[tuple[Voice, ...], ...]:
    """For each bar its voices: the upper one of each staff always, the lower one where it has notes.

    Args:
        hand: what one can take ([hand] of constraints/playability.toml).
    """
    staves = range(1, player.instrument.staves + 1)
    placed: dict[tuple[int, int], list[Played]] = defaultdict(list)
    for run in _runs(notes, bars):
        for staff, own in enumerate(_hands(player, run, hand), start=1):
            for number, voice in enumerate(_voices(own)):
                placed[staff, number] += voice
    sliced = {key: _slices(voice, bars) for key, voice in placed.items()}
    found = []
    for bar in bars:
        voices = []
        for staff in staves:
            for number in (0, 1):
                slices = sliced.get((staff, number), {}).get(bar.index)
                if slices or number == 0:
                    voices.append(Voice(staff, number, tuple(_filled(slices or [], bar))))
        found.append(tuple(voices))
    return tuple(found)


def _runs(notes: Sequence[Played], bars: Sequence[Bar]) -> Iterator[list[Played]]:
    """Notes by runs of bars that held notes join."""
    ends = [bar.end for bar in bars]
    run: list[Played] = []
    border = 0
    for note in notes:
        if run and note.onset >= border:
            yield run
            run = []
        run.append(note)
        last = ends[min(bisect_right(ends, note.end - 1), len(ends) - 1)]
        border = max(border, last)
    if run:
        yield run


def _hands(player: Player, notes: list[Played], hand: Mapping[str, int]) -> list[list[Played]]:
    """The notes of each staff."""
    if player.instrument.staves == 1:
        return [notes]
    up = player.instrument.transposition[1]
    lines: dict[str, list[int]] = defaultdict(list)
    for note in notes:
        lines[note.line].append(note.midi + up)
    upper: list[Played] = []
    lower: list[Played] = []
    for note in notes:
        pitches = lines[note.line]
        wide = min(pitches) < MIDDLE_C - HAND and max(pitches) > MIDDLE_C + HAND
        height = note.midi + up if wide else sum(pitches) / len(pitches)
        (upper if height >= MIDDLE_C else lower).append(note)
    return [list(own) for own in _shared(upper, lower, hand)]


def _shared(upper: list[Played], lower: list[Played], hand: Mapping[str, int]) -> tuple[list[Played], list[Played]]:
    """The two staves with what one hand can't strike given to the other: lowest notes down, highest up, as long as that one has
    room for them."""

    def struck(notes: Sequence[Played], tick: int) -> list[Played]:
        return sorted((n for n in notes if n.onset <= tick < n.end), key=lambda n: n.midi)

    for tick in sorted({note.onset for note in (*upper, *lower)}):
        for full, other, end in ((upper, lower, 0), (lower, upper, -1)):
            while len(own := struck(full, tick)) > 1 and not in_hand([n.midi for n in own], hand):
                moved = own[end]
                there = sorted({moved.midi, *(n.midi for n in struck(other, tick))})
                if moved.onset != tick or not in_hand(there, hand):
                    break
                full.remove(moved)
                other.append(moved)
    return (
        sorted(upper, key=lambda n: (n.onset, -n.midi)),
        sorted(lower, key=lambda n: (n.onset, -n.midi)),
    )


def _voices(notes: list[Played]) -> list[list[Played]]:
    """One voice where the rhythms agree, else two: the lines divided so that fewest notes must be tied."""
    if _agree(notes):
        return [notes]
    lines: dict[str, list[Played]] = defaultdict(list)
    for note in notes:
        lines[note.line].append(note)
    if len(lines) == 1:
        return [notes]
    height = {name: (-sum(n.midi for n in own) / len(own), name) for name, own in lines.items()}
    rank = {
        name: sum(height[other] < height[name] and _meet(own, lines[other]) for other in lines)
        for name, own in lines.items()
    }
    ways = []
    for split in range(1, max(rank.values()) + 1):
        parts = [[n for n in notes if rank[n.line] < split], [n for n in notes if rank[n.line] >= split]]
        ways.append((_ties(parts[0]) + _ties(parts[1]), split, parts))
    return min(ways, key=lambda way: way[:2])[2] if ways else [notes]


def _agree(notes: Sequence[Played]) -> bool:
    onset, end = -1, 0
    for note in notes:
        if note.onset == onset:
            if note.end != end:
                return False
        elif note.onset < end:
            return False
        onset, end = note.onset, note.end
    return True


def _meet(some: Sequence[Played], others: Sequence[Played]) -> bool:
    """Two lines sound at the same time somewhere."""
    k = 0
    for note in some:
        while k < len(others) and others[k].end <= note.onset:
            k += 1
        if k < len(others) and others[k].onset < note.end:
            return True
    return False


def _ties(notes: Sequence[Played]) -> int:
    """How often notes must be cut where they share one voice."""
    edges = sorted({n.onset for n in notes} | {n.end for n in notes})
    place = {edge: k for k, edge in enumerate(edges)}
    return sum(place[n.end] - place[n.onset] - 1 for n in notes)


def _slices(notes: Sequence[Played], bars: Sequence[Bar]) -> dict[int, list[Slice]]:
    """bar index -> slices that sound"""
    found: dict[int, list[Slice]] = defaultdict(list)
    inside: dict[int, list[Played]] = defaultdict(list)
    onsets = [bar.onset for bar in bars]
    for note in notes:
        index = bisect_right(onsets, note.onset) - 1
        while index < len(bars) and bars[index].onset < note.end:
            inside[index].append(note)
            index += 1
    for index, own in inside.items():
        bar = bars[index]
        edges = sorted({max(n.onset, bar.onset) for n in own} | {min(n.end, bar.end) for n in own})
        for start, end in pairwise(edges):
            sounding = tuple(sorted((n for n in own if n.onset < end and n.end > start), key=lambda n: n.midi))
            if sounding:
                found[index].append(Slice(start, end, sounding))
    return found


def _filled(slices: list[Slice], bar: Bar) -> Iterator[Slice]:
    """The slices with rests between them."""
    at = bar.onset
    for piece in slices:
        if piece.start > at:
            yield Slice(at, piece.start, ())
        yield piece
        at = piece.end
    if at < bar.end:
        yield Slice(at, bar.end, ())
