"""Beats and bars over a pulse: which pulses are beats, and which beats begin bars.

A hidden Markov model over half pulses: a state is a metre (half pulses a beat, beats a bar) and the place in its bar; what
is observed at a half pulse (attacks, basses, changes of harmony, lengths) is more or less likely on a bar line, a half
bar, a beat, the middle of a beat or between. After the metrical levels of Temperley, "A unified probabilistic model for
polyphonic music analysis" (Journal of New Music Research 38, 2009) and the bar pointer of Whiteley, Cemgil and Godsill
(ISMIR 2006).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
FEATURES = ("attack", "notes", "bass", "bass_turns", "low", "harmony", "harmony_wide", "length", "lull", "constant")
LEVELS = ("between", "middle", "beat", "half_bar", "bar")
SCHEMA = {
    "metre": dict.fromkeys("short long near tempo usual change jump strong bars_2 bars_3 bars_4".split(), float),
    "levels": {name: [float] for name in FEATURES},
}


@dataclass(frozen=True)
class Grid:
    """The beats of a take.

    Attributes:
        beats: seconds of each beat, ascending.
        bars: (index of its first beat, number of beats) of each bar, without gaps; the first may be a pickup.
        worth: log-likelihood ratio against no metre at all.
    """

    beats: Array
    bars: tuple[tuple[int, int], ...]
    worth: float


@dataclass(frozen=True)
class _Metre:
    """Half pulses a beat, beats a bar."""

    beat: int
    beats: int

    def levels(self) -> list[int]:
        """Level of each half pulse of a bar."""
        found = [0] * (self.beat * self.beats)
        for k in range(self.beats):
            for middle in {2: (1,), 4: (2,), 8: (4,), 6: (2, 4), 3: (1, 2)}.get(self.beat, ()):
                found[k * self.beat + middle] = LEVELS.index("middle")
            found[k * self.beat] = LEVELS.index("half_bar" if self.beats == 4 and k == 2 else "beat")
        found[0] = LEVELS.index("bar")
        return found


METRES = tuple(_Metre(beat, beats) for beat in (1, 2, 3, 4, 6, 8) for beats in (2, 3, 4))


def features(pulse: Array, onsets: Array, ends: Array, keys: NDArray[np.int64], table: Mapping[str, float]) -> Array:
    """What is observed at each half pulse: an array (half pulses, FEATURES). Onsets and ends in seconds.

    `table` is [metre] of constraints/beats.toml.
    """
    count = 2 * len(pulse) - 1
    step = float(pulse[-1] - pulse[0]) / max(1, count - 1)
    short, long = (max(1, round(table[name] / step)) for name in ("short", "long"))
    place, until = 2 * _places(pulse, onsets), 2 * _places(pulse, ends)
    slots = np.rint(place).astype(int)
    near = np.abs(place - slots) < table["near"]
    attacks = np.zeros(count)
    np.add.at(attacks, slots[near], 1.0)
    struck = attacks > 0
    lengths = np.zeros(count)
    np.maximum.at(lengths, slots[near], (until - place)[near])
    lowest = np.full(count, np.inf)
    np.minimum.at(lowest, slots[near], keys[near].astype(float))
    padded = np.pad(lowest, short, constant_values=np.inf)
    around = np.lib.stride_tricks.sliding_window_view(padded, 2 * short + 1).min(1)
    bass = struck & (lowest <= around)
    turns = np.zeros(count)
    basses = np.flatnonzero(bass)
    turns[basses[1:]] = lowest[basses[1:]] != lowest[basses[:-1]]
    low = np.clip((float(keys.mean()) - np.where(struck, lowest, 0)) / 12, -2, 2) * struck
    sound = np.zeros((count + 1, 12))
    stop = np.clip(np.maximum(slots + 1, np.rint(until).astype(int)), 0, count)
    np.add.at(sound, (slots, keys % 12), 1.0)
    np.add.at(sound, (stop, keys % 12), -1.0)
    chroma = np.cumsum(sound, axis=0)[:count]
    rows = [
        struck,
        np.log2(1 + attacks),
        bass,
        turns,
        low,
        _novelty(chroma, short),
        _novelty(chroma, long),
        np.where(struck, np.log2(np.clip(lengths * step / table["short"], 0.25, 8)), 0),
        np.pad(struck, (1, 0))[:count] == 0,
        np.ones(count),
    ]
    return np.array(rows, dtype=float).T


def _novelty(chroma: Array, width: int) -> Array:
    """1 - cosine of what sounds in so many half pulses after and before each of them."""
    total = np.vstack((np.zeros((1, 12)), np.cumsum(chroma, axis=0)))
    places = np.arange(len(chroma))
    after = total[np.minimum(places + width, len(chroma))] - total[places]
    before = total[places] - total[np.maximum(places - width, 0)]
    norm = np.linalg.norm(after, axis=1) * np.linalg.norm(before, axis=1)
    return np.where(norm > 0, 1 - (after * before).sum(1) / np.maximum(norm, 1e-9), 1.0)


def _places(pulse: Array, seconds: Array) -> Array:
    """Seconds as pulses, those outside clipped to the ends."""
    found: Array = np.interp(seconds, pulse, np.arange(len(pulse)))
    return found


def find_metre(pulse: Array, seen: Array, table: Mapping[str, Any]) -> Grid:
    """Beats and bars.

    Args:
        pulse: seconds.
        seen: as `features` says.
        table: [metre] and [levels] of constraints/beats.toml.
    """
    rules = table["metre"]
    weights = np.array([table["levels"][name] for name in FEATURES])  # (features, levels)
    beat_level = LEVELS.index("beat")
    for stronger in range(beat_level + 1, len(LEVELS)):
        weights[:, stronger] = weights[:, beat_level] + rules["strong"] * (
            weights[:, stronger] - weights[:, beat_level]
        )
    likely = seen @ weights
    likely -= likely[:, :1]
    steps = np.gradient(np.interp(np.arange(len(seen)) / 2, np.arange(len(pulse)), pulse))
    levels: list[int] = []
    beat: list[int] = []
    start: list[int] = []
    ends: list[int] = []
    closes: list[bool] = []
    for metre in METRES:
        here = len(levels)
        start.append(here)
        levels += metre.levels()
        beat += [metre.beat] * len(metre.levels())
        closes += [(k + 1) % metre.beat == 0 for k in range(len(metre.levels()))]
        ends.append(len(levels) - 1)
    size, starts, lasts = len(levels), np.array(start), np.array(ends)
    level, closing = np.array(levels), np.array(closes)
    prior = rules["tempo"] * (np.log2(steps[:, None] * np.array(beat)[None, :] / rules["usual"])) ** 2
    emitted = likely[:, level] - prior / np.array(beat)[None, :]
    emitted[:, starts] -= np.array([rules[f"bars_{metre.beats}"] for metre in METRES])
    score = emitted[0].copy()
    came = np.zeros((len(seen), size), dtype=np.int16)
    before = np.arange(size) - 1
    for slot in range(1, len(seen)):
        gained = score[before]
        gained[starts] = score[lasts]
        origin = before.copy()
        origin[starts] = lasts
        best = int(score[lasts].argmax())
        jump = int(np.where(closing, score, -np.inf).argmax())
        for source, cost in ((lasts[best], rules["change"]), (jump, rules["jump"])):
            better = score[source] - cost > gained[starts]
            gained[starts[better]] = score[source] - cost
            origin[starts[better]] = source
        came[slot] = origin
        score = gained + emitted[slot]
    state = int(score.argmax())
    worth = float(score[state])
    path = [state]
    for slot in range(len(seen) - 1, 0, -1):
        state = int(came[slot, state])
        path.append(state)
    return _grid(pulse, np.array(path[::-1]), level, worth)


def _grid(pulse: Array, path: NDArray[np.int64], level: NDArray[np.int64], worth: float) -> Grid:
    places = np.flatnonzero(level[path] >= LEVELS.index("beat"))
    beats = np.interp(places / 2, np.arange(len(pulse)), pulse)
    begins = [0, *(k for k in range(1, len(places)) if level[path[places[k]]] == LEVELS.index("bar"))]
    stops = [*begins[1:], len(places)]
    return Grid(beats, tuple((a, b - a) for a, b in zip(begins, stops, strict=True)), worth)
