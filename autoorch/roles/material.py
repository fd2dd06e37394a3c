"""What the music is made of, bar by bar: the tune's intervals and rhythm, its skeleton, the harmony; and how alike bars are.

Everything is counted within the bar and from the local key, so that a passage is known again in another key, in other
note values, with other chords or under another accompaniment.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from autoorch.roles.model import Chord
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone
from autoorch.sketch.model import Bar, Sketch

Array = NDArray[np.float64]
SLOTS = 48
"""Places in a bar at which attacks are told apart."""
POINTS = 12
"""Places in a bar at which the sounding note and the chord are looked up."""
_STEP_OF = {"major": (0, 0, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6), "minor": (0, 1, 1, 2, 2, 3, 4, 4, 5, 5, 6, 6)}
"""Scale step, 0 to 6, of each semitone above the tonic."""


def full_length(sketch: Sketch, bar: Bar) -> int:
    """Ticks of a whole bar of its metre."""
    beats, unit = bar.metre
    return max(1, beats * sketch.ticks * 4 // unit)


def _rows(bars: Sequence[Bar], lengths: Sequence[int]) -> tuple[list[int], list[int]]:
    """Of each bar: its row, and ticks of the row before it begins (what a pickup leaves out, the first part of a split bar)."""
    rows, offsets = [], []
    row, filled = -1, 0
    for bar, length in zip(bars, lengths, strict=True):
        if row < 0 and bar.length < length and len(bars) > 1:
            filled = length - bar.length
            row = 0
        elif row < 0 or not 0 < filled < length or filled + bar.length > length:
            filled = 0
            row += 1
        rows.append(row)
        offsets.append(filled)
        filled = (filled + bar.length) % length
    return rows, offsets


class Material:
    """Arrays over the bars of the metre; the parts of a bar that is split by a repeat share one row.

    Attributes:
        row_of: row of each bar of the sketch.
        onset: (rows, SLOTS) 1 where the tune is attacked.
        interval: (rows, SLOTS) semitones from the tune note before.
        step: (rows, POINTS) scale step of the sounding tune note, -1 where it rests.
        root: (rows, POINTS) semitones of the chord's root above the local tonic, -1 without a chord.
        pattern: (rows, SLOTS) 1 where anything is attacked.
        classes: (rows, SLOTS) a bit for each pitch class attacked there, counted from the local tonic.
        keys: the local key in the middle of each row.
    """

    def __init__(self, texture: Texture, tune: Sequence[Tone], chords: Sequence[Chord], table: Section) -> None:
        """`table` is [material] of constraints/reading.toml."""
        sketch = texture.sketch
        self.table = table
        bars = sketch.bars
        lengths = [full_length(sketch, bar) for bar in bars]
        self.row_of, offsets = _rows(bars, lengths)
        count = self.row_of[-1] + 1
        self.onset = np.zeros((count, SLOTS), dtype=bool)
        self.pattern = np.zeros((count, SLOTS), dtype=bool)
        self.classes = np.zeros((count, SLOTS), dtype=np.uint16)
        self.interval = np.zeros((count, SLOTS), dtype=np.int64)
        self.step = np.full((count, POINTS), -1, dtype=np.int64)
        self.root = np.full((count, POINTS), -1, dtype=np.int64)
        starts = [chord.start for chord in chords]
        middles = {row: bar.onset + bar.length // 2 for row, bar in zip(self.row_of, bars, strict=True)}
        places = [bisect_right(starts, middles[row]) - 1 for row in range(count)]
        self.keys = [chords[k].key if chords else (0, "major") for k in places]

        def place(tick: int, parts: int) -> tuple[int, int]:
            bar = sketch.bar_at(tick)
            k = bar.index
            return self.row_of[k], min(parts - 1, (tick - bar.onset + offsets[k]) * parts // lengths[k])

        for tick, tones in texture.attacks.items():
            where = place(tick, SLOTS)
            self.pattern[where] = True
            for tone in tones:
                self.classes[where] |= 1 << (tone.pitch - self.keys[where[0]][0]) % 12
        before: Tone | None = None
        for tone in tune:
            where = place(tone.onset, SLOTS)
            if not self.onset[where]:
                self.onset[where] = True
                self.interval[where] = tone.pitch - before.pitch if before else 0
            before = tone
        onsets = [tone.onset for tone in tune]
        for row, bar, length, skip in zip(self.row_of, bars, lengths, offsets, strict=True):
            for point in range(POINTS):
                tick = bar.onset - skip + length * point // POINTS
                if not bar.onset <= tick < bar.end:
                    continue
                k = bisect_right(starts, tick) - 1
                chord = chords[k] if k >= 0 else None
                if chord and chord.root is not None:
                    self.root[row, point] = (chord.root - chord.key[0]) % 12
                i = bisect_right(onsets, tick) - 1
                if chord and i >= 0 and tune[i].end > tick:
                    self.step[row, point] = _STEP_OF[chord.key[1]][(tune[i].pitch - chord.key[0]) % 12]

    def alike(self, one: NDArray[np.int64], other: NDArray[np.int64]) -> Array:
        """(pairs,) 0 to 1: how alike the bars `one` and `other` are, pair by pair.

        The greatest of, each with some harmony: the tune's rhythm and intervals; its rhythm and the scale steps that sound;
        those steps and the harmony alone (a variation). Or all notes, whatever is the tune.
        """
        table = self.table
        a, b = self.onset[one], self.onset[other]
        both, either = a & b, a | b
        x, y = self.interval[one], self.interval[other]
        off = np.abs(x - y)
        way = np.where(off == 0, 1.0, np.where(off == 1, table["near"], np.where(x * y > 0, table["contour"], 0.0)))
        worth = np.where(both, table["rhythm"] + (1 - table["rhythm"]) * way, 0.0)
        tune = worth.sum(axis=1) / np.maximum(1, either.sum(axis=1))
        p, q = self.step[one], self.step[other]
        sung = (p >= 0) | (q >= 0)
        skeleton = ((p == q) & sung).sum(axis=1) / np.maximum(1, sung.sum(axis=1))
        r, s = self.root[one], self.root[other]
        known = (r >= 0) | (s >= 0)
        harmony = ((r == s) & known).sum(axis=1) / np.maximum(1, known.sum(axis=1))
        silent = ~either.any(axis=1)
        tune = np.where(silent, np.where(sung.any(axis=1), skeleton, harmony), tune)
        rhythm = np.where(silent, skeleton, both.sum(axis=1) / np.maximum(1, either.sum(axis=1)))
        sung_alike = (1 - table["rhythm"]) * skeleton + table["rhythm"] * rhythm
        plain = (1 - table["harmony"]) * np.maximum(tune, sung_alike) + table["harmony"] * harmony
        varied = table["varied"] * (skeleton + harmony) / 2
        found: Array = np.maximum(np.maximum(plain, varied), self._notes_alike(one, other))
        return found

    def _notes_alike(self, one: NDArray[np.int64], other: NDArray[np.int64]) -> Array:
        """(pairs,) share of all attacked pitch classes that both bars have at the same places."""
        a, b = self.classes[one], self.classes[other]
        both = np.bitwise_count(a & b).sum(axis=1)
        either = np.bitwise_count(a | b).sum(axis=1)
        return np.where(either > 0, both / np.maximum(1, either), 0.0)

    def fresh(self) -> Array:
        """(bars,) 0 to 1: how much each bar's attacks differ from those of the bar before."""
        either = (self.pattern[1:] | self.pattern[:-1]).sum(axis=1)
        both = (self.pattern[1:] & self.pattern[:-1]).sum(axis=1)
        return np.concatenate([[0.0], 1 - both / np.maximum(1, either)])

    def parallels(self, farthest: int) -> Array:
        """(bars,) 0 to 1: how clearly a passage begins there that begins again, or has begun before, at most so far away.

        A beginning is two bars that are like two other bars while the bars before them are not.
        """
        count = len(self.onset)
        found = np.zeros(count)
        bars = np.arange(count)
        for lag in range(2, min(farthest, count - 2) + 1):
            same = self.alike(bars[:-lag], bars[lag:])
            pair = np.minimum(same[:-1], same[1:])
            before = np.concatenate([[0.0], same[:-2]])
            begins = np.maximum(0.0, pair - self.table["chance"]) / (1 - self.table["chance"]) * (1 - before)
            begins *= self.table["odd_lag"] if lag % 2 else 1.0
            reach = len(begins)
            found[:reach] = np.maximum(found[:reach], begins)
            found[lag : lag + reach] = np.maximum(found[lag : lag + reach], begins)
        return found
