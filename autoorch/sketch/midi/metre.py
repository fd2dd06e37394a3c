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
_KEYS = (
    "short long near deepest shortest longest tempo usual change jump strong strong_length bars_2 bars_3 bars_4 "
    "compound_3 compound_4 third_near third_more third_least start_upbeat start_half start_late end_inside"
)
SCHEMA = {
    "metre": dict.fromkeys(_KEYS.split(), float) | {"halves": [int], "beats": [int]},
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


class _States:
    """Every place in every metre, in a row: arrays over the places, and the first and last place of each metre.

    Attributes:
        level: index into LEVELS; beat: half pulses a beat; beats: beats a bar; left: half pulses to the next bar line.
        closing: whether a beat ends with it.
        starts, lasts: places.
    """

    def __init__(self, table: Mapping[str, Any]) -> None:
        metres = [(beat, beats) for beat in table["halves"] for beats in table["beats"]]
        self.level = np.array([level for metre in metres for level in _levels(*metre)])
        sizes = np.array([beat * beats for beat, beats in metres])
        self.lasts = np.cumsum(sizes) - 1
        self.starts = self.lasts - sizes + 1
        self.beat, self.beats = (np.repeat([metre[k] for metre in metres], sizes) for k in (0, 1))
        place = np.arange(len(self.level)) - np.repeat(self.starts, sizes)
        self.left = -place % np.repeat(sizes, sizes)
        self.closing = (place + 1) % self.beat == 0

    def bar_costs(self, triple: bool, table: Mapping[str, float]) -> Array:
        """Of a bar line in each metre; `triple` where pulses divide in three."""
        beat, beats = self.beat[self.starts], self.beats[self.starts]
        compound = (beat % 3 == 0) | (triple & (beat == 2))
        plain = np.array([table[f"bars_{count}"] for count in beats])
        found: Array = plain + compound * np.array([table.get(f"compound_{count}", 0.0) for count in beats])
        return found

    def start_costs(self, table: Mapping[str, float]) -> Array:
        """Of a first attack at each place."""
        late = np.where(2 * self.left <= self.beat * self.beats, table["start_half"], table["start_late"])
        upbeat = np.where(self.left <= self.beat, table["start_upbeat"], late)
        found: Array = np.where(self.left == 0, 0.0, upbeat)
        return found


def _levels(beat: int, beats: int) -> list[int]:
    """Level of each half pulse of a bar with so many half pulses a beat."""
    found = [0] * (beat * beats)
    part = beat // 3 if beat % 3 == 0 else beat // 2
    for first in range(0, beat * beats, beat):
        for middle in range(first + part, first + beat, part) if part else ():
            found[middle] = LEVELS.index("middle")
        found[first] = LEVELS.index("half_bar" if beats == 4 and first == 2 * beat else "beat")
    found[0] = LEVELS.index("bar")
    return found


def in_thirds(places: Array, table: Mapping[str, float]) -> bool:
    """Whether attacks, given in beats, stand inside their beats on thirds, many more than on halves.

    `table` is [metre] of constraints/beats.toml.
    """
    phase = places % 1
    thirds = int((np.minimum(np.abs(phase - 1 / 3), np.abs(phase - 2 / 3)) < table["third_near"]).sum())
    halves = int((np.abs(phase - 1 / 2) < table["third_near"]).sum())
    return thirds > max(table["third_more"] * halves, table["third_least"] * len(places))


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
    low = np.clip((float(keys.mean()) - np.where(struck, lowest, 0)) / 12, -table["deepest"], table["deepest"]) * struck
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
        np.where(struck, np.log2(np.clip(lengths * step / table["short"], table["shortest"], table["longest"])), 0),
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


def find_metre(pulse: Array, seen: Array, triple: bool, table: Mapping[str, Any]) -> Grid:
    """Beats and bars.

    Args:
        pulse: seconds.
        seen: as `features` says.
        triple: whether the pulses divide in three.
        table: [metre] and [levels] of constraints/beats.toml.
    """
    rules, states = table["metre"], _States(table["metre"])
    weights = np.array([table["levels"][name] for name in FEATURES])  # (features, levels)
    beat_level = LEVELS.index("beat")
    strong = np.full((len(FEATURES), 1), rules["strong"])
    strong[FEATURES.index("length")] = rules["strong_length"]
    beats = weights[:, [beat_level]]
    weights[:, beat_level + 1 :] = beats + strong * (weights[:, beat_level + 1 :] - beats)
    likely = seen @ weights
    likely -= likely[:, :1]
    steps = np.gradient(np.interp(np.arange(len(seen)) / 2, np.arange(len(pulse)), pulse))
    prior = rules["tempo"] * (np.log2(steps[:, None] * states.beat[None, :] / rules["usual"])) ** 2
    emitted = likely[:, states.level] - prior / states.beat[None, :]
    emitted[:, states.starts] -= states.bar_costs(triple, rules)
    attacks = np.flatnonzero(seen[:, FEATURES.index("attack")])
    emitted[attacks[:1]] -= states.start_costs(rules)
    emitted[attacks[-1:]] -= np.where(states.left == 0, 0.0, rules["end_inside"])
    path, worth = _likeliest(emitted, states, rules)
    return _grid(pulse, path, states.level, worth)


def _likeliest(emitted: Array, states: _States, rules: Mapping[str, float]) -> tuple[NDArray[np.int64], float]:
    """The best way through the places, by Viterbi search, and its sum; `emitted` is (half pulses, places)."""
    starts, lasts = states.starts, states.lasts
    before = np.arange(len(states.level)) - 1
    before[starts] = lasts
    closed = np.where(states.closing, 0.0, -np.inf)
    score = emitted[0].copy()
    came = np.zeros(emitted.shape, dtype=np.int16)
    for slot in range(1, len(emitted)):
        gained = score[before]
        came[slot] = before
        best, jump = int(lasts[score[lasts].argmax()]), int((score + closed).argmax())
        for source, cost in ((best, rules["change"]), (jump, rules["jump"])):
            better = starts[score[source] - cost > gained[starts]]
            gained[better] = score[source] - cost
            came[slot, better] = source
        score = gained + emitted[slot]
    path = [int(score.argmax())]
    for slot in range(len(emitted) - 1, 0, -1):
        path.append(int(came[slot, path[-1]]))
    return np.array(path[::-1]), float(score.max())


def _grid(pulse: Array, path: NDArray[np.int64], level: NDArray[np.int64], worth: float) -> Grid:
    places = np.flatnonzero(level[path] >= LEVELS.index("beat"))
    beats = np.interp(places / 2, np.arange(len(pulse)), pulse)
    begins = [0, *(k for k in range(1, len(places)) if level[path[places[k]]] == LEVELS.index("bar"))]
    stops = [*begins[1:], len(places)]
    return Grid(beats, tuple((a, b - a) for a, b in zip(begins, stops, strict=True)), worth)
