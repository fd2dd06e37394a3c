"""A first reading of MIDI that was played in: each beat of the file's own click on sixteenths or on triplets.

Seconds as played are kept beside the grid, so that a finer reading can start from them.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from fractions import Fraction

from autoorch.sketch.midi.notated import GRID
from autoorch.sketch.midi.take import Take

SIXTEENTHS, TRIPLETS = 4, 3
EARLY = Fraction(1, 8)
"""Part of a quarter by which an onset may come before the beat that it belongs to."""
TRIPLET_GAIN = Fraction(1, 2)
"""A beat is read in triplets only where that halves the squared distances."""


def place_played(take: Take) -> list[tuple[Fraction, Fraction]]:
    """(onset, length) in quarters of the file's click, for each note; no note is shorter than a step of its beat.

    A key struck again within a step is placed on the 24th parts of a quarter; it ends the note before it.
    """
    beats: dict[int, list[Fraction]] = defaultdict(list)
    for tick in sorted({note.start for note in take.notes}):
        here = Fraction(tick, take.quarter)
        beats[_beat(here)].append(here)
    steps = {beat: _steps(onsets) for beat, onsets in beats.items()}

    def snap(tick: int) -> tuple[Fraction, int]:
        here = Fraction(tick, take.quarter)
        parts = steps.get(_beat(here), SIXTEENTHS)
        return Fraction(round(here * parts), parts), parts

    found: list[tuple[Fraction, Fraction]] = []
    last: dict[tuple[int, int], int] = {}
    for index, note in enumerate(take.notes):
        onset, parts = snap(note.start)
        before = last.get((note.strand, note.key), index)
        if before != index and take.notes[before].start < note.start:
            taken, length = found[before]
            if onset <= taken:
                onset = max(taken, Fraction(round(Fraction(note.start * GRID, take.quarter)), GRID))
            if onset > taken:
                found[before] = (taken, min(length, onset - taken))
        last[note.strand, note.key] = index
        found.append((onset, max(Fraction(1, parts), snap(note.end)[0] - onset)))
    return found


def seconds(take: Take) -> list[tuple[float, float]]:
    """(onset, duration) of each note in seconds as played."""
    ticks = [tick for tick, _ in take.tempos]
    at = [0]
    for (before, pace), (tick, _) in zip(take.tempos, take.tempos[1:], strict=False):
        at.append(at[-1] + (tick - before) * pace)
    scale = 1_000_000 * take.quarter

    def time(tick: int) -> float:
        index = bisect_right(ticks, tick) - 1
        return (at[index] + (tick - ticks[index]) * take.tempos[index][1]) / scale

    return [(time(note.start), time(note.end) - time(note.start)) for note in take.notes]


def _beat(here: Fraction) -> int:
    return int(here + EARLY)


def _steps(onsets: list[Fraction]) -> int:
    def cost(parts: int) -> Fraction:
        return sum(((round(here * parts) - here * parts) / parts) ** 2 for here in onsets) + Fraction(0)

    return TRIPLETS if cost(TRIPLETS) < cost(SIXTEENTHS) * TRIPLET_GAIN else SIXTEENTHS
