"""What is observed at each half pulse of a played take: attacks, basses, lengths, rests, changes of harmony.

Where composers put what in the bar: long notes, basses and changes of harmony stand on strong beats, notes seldom sound on
across a bar line (Lerdahl and Jackendoff, A Generative Theory of Tonal Music, 1983, metrical preference rules 3, 5 and 6;
Temperley, The Cognition of Basic Musical Structures, 2001).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
FEATURES = (
    "attack notes bass bass_turns low harmony harmony_wide length lull constant held rest gap top_length bass_length lead"
).split()
SCHEMA = {"evidence": dict.fromkeys("short long near deepest shortest longest".split(), float)}


class Evidence:
    """A take over one of its pulses.

    Attributes:
        pulse: seconds; worth: of the pulse, as in `Pulse`; triple: whether it divides in three.
        steps: seconds of each half pulse.
        seen: an array (half pulses, FEATURES).
    """

    def __init__(
        self,
        pulse: Array,
        attacks: tuple[Array, Array, NDArray[np.int64]],
        triple: bool,
        table: Mapping[str, float],
        worth: float = 0.0,
    ) -> None:
        """`attacks` are onsets, ends (seconds, by onset) and MIDI numbers; `table` is [evidence] of constraints/beats.toml."""
        onsets, ends, self._keys = attacks
        self.pulse, self.worth, self.triple, self._table = pulse, worth, triple, table
        self._count = 2 * len(pulse) - 1
        self._step = float(pulse[-1] - pulse[0]) / max(1, self._count - 1)
        self.steps = np.gradient(np.interp(np.arange(self._count) / 2, np.arange(len(pulse)), pulse))
        self._place, self._until = 2 * places(pulse, onsets), 2 * places(pulse, ends)
        self._slots = np.rint(self._place).astype(int)
        self.seen = self._seen()

    @cached_property
    def _chroma(self) -> Array:
        """Notes of each pitch class that sound: an array (half pulses, 12), after a row of zeros summed up."""
        sound = np.zeros((self._count + 1, 12))
        stop = np.clip(np.maximum(self._slots + 1, np.rint(self._until).astype(int)), 0, self._count)
        np.add.at(sound, (self._slots, self._keys % 12), 1.0)
        np.add.at(sound, (stop, self._keys % 12), -1.0)
        chroma = np.cumsum(sound, axis=0)[: self._count]
        return np.vstack((np.zeros((1, 12)), np.cumsum(chroma, axis=0)))

    def novelty(self, widths: NDArray[np.int64]) -> Array:
        """1 - cosine of what sounds in so many half pulses after and before each: an array (half pulses, widths)."""
        kinds, index = np.unique(widths, return_inverse=True)
        found: Array = np.stack([self._novelty(int(width)) for width in kinds], axis=1)[:, index]
        return found

    def _novelty(self, width: int) -> Array:
        total, at = self._chroma, np.arange(self._count)
        after = total[np.minimum(at + width, self._count)] - total[at]
        before = total[at] - total[np.maximum(at - width, 0)]
        norm = np.linalg.norm(after, axis=1) * np.linalg.norm(before, axis=1)
        return np.where(norm > 0, 1 - (after * before).sum(1) / np.maximum(norm, 1e-9), 1.0)

    def _seen(self) -> Array:
        count, table, slots = self._count, self._table, self._slots
        short, long = (max(1, round(table[name] / self._step)) for name in ("short", "long"))
        near = np.abs(self._place - slots) < table["near"]
        attacks = np.bincount(slots[near], minlength=count).astype(float)
        struck = attacks > 0
        lengths = np.zeros(count)
        np.maximum.at(lengths, slots[near], (self._until - self._place)[near])
        lowest, highest = np.full(count, np.inf), np.full(count, -np.inf)
        np.minimum.at(lowest, slots[near], self._keys[near].astype(float))
        np.maximum.at(highest, slots[near], self._keys[near].astype(float))
        bass, top = _extreme(lowest, struck, short), _extreme(-highest, struck, short)
        turns = np.zeros(count)
        basses = np.flatnonzero(bass)
        turns[basses[1:]] = lowest[basses[1:]] != lowest[basses[:-1]]
        low = np.where(struck, (float(self._keys.mean()) - np.where(struck, lowest, 0)) / 12, 0)
        held, sounds = self._held()
        gap, lead = self._gaps(struck), self._gaps(struck[::-1])[::-1]
        rows = {
            "attack": struck,
            "notes": np.log2(1 + attacks),
            "bass": bass,
            "bass_turns": turns,
            "low": np.clip(low, -table["deepest"], table["deepest"]),
            "harmony": self._novelty(short),
            "harmony_wide": self._novelty(long),
            "length": np.where(struck, self._log(lengths), 0),
            "lull": np.pad(struck, (1, 0))[:count] == 0,
            "constant": np.ones(count),
            "held": held / np.maximum(1, held + attacks),
            "rest": struck & (np.pad(sounds, (1, 0))[:count] == 0),
            "gap": gap,
            "top_length": self._gaps(top),
            "bass_length": self._gaps(bass),
            "lead": lead,
        }
        return np.stack([np.asarray(rows[name], dtype=float) for name in FEATURES], axis=1)

    def _log(self, halves: Array) -> Array:
        """log2 of a length in half pulses, in neighbourhoods."""
        table = self._table
        found: Array = np.log2(np.clip(halves * self._step / table["short"], table["shortest"], table["longest"]))
        return found

    def _gaps(self, marked: NDArray[np.bool_]) -> Array:
        """log2 of how long it is to the next marked half pulse, at each of them; 0 elsewhere."""
        found, at = np.zeros(self._count), np.flatnonzero(marked)
        found[at[:-1]] = self._log(np.diff(at).astype(float))
        return found

    def _held(self) -> tuple[Array, Array]:
        """Notes struck before a half pulse that sound beyond it, and notes that sound at all."""
        ends, count = np.rint(self._until).astype(int), self._count
        on, off = self._slots, np.clip(np.maximum(ends, self._slots + 1), 0, count)
        sounds = np.cumsum(np.bincount(on, minlength=count + 1) - np.bincount(off, minlength=count + 1))[:count]
        long = ends > on + 1
        begun = np.bincount(on[long] + 1, minlength=count + 1) - np.bincount(
            np.clip(ends[long], 0, count), minlength=count + 1
        )
        return np.cumsum(begun)[:count].astype(float), sounds.astype(float)


def _extreme(low: Array, struck: NDArray[np.bool_], width: int) -> NDArray[np.bool_]:
    """Whether something is struck, and nothing lower so many half pulses around."""
    padded = np.pad(low, width, constant_values=np.inf)
    found: NDArray[np.bool_] = struck & (low <= np.lib.stride_tricks.sliding_window_view(padded, 2 * width + 1).min(1))
    return found


def places(pulse: Array, seconds: Array) -> Array:
    """Seconds as pulses, those outside clipped to the ends."""
    found: Array = np.interp(seconds, pulse, np.arange(len(pulse)))
    return found
