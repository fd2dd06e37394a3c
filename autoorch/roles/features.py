"""What each tone looks like among its neighbours: the numbers that melody is told by, free of key, register and note values.

All times are measured in the piece's own unit, the median step from attack to attack; attacks that lie closer than a player's
hands are apart count as one.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from autoorch.roles.texture import Texture

Numbers = NDArray[np.float64]
Indices = NDArray[np.int64]

NEAR = 12.0
"""Units on each side that make a note's neighbourhood."""
SLACK = 0.5
"""Units by which two attacks or ends may miss each other and count as neighbours."""
LAGS = (2, 3, 4, 6, 8, 12, 16)
"""Units after which figures usually come again: groups, beats and bars of two, three, four."""

NAMES = (
    "one_above",  # exactly one tone sounds above at the attack
    "more_above",  # how many more than one, at most 3
    "below",  # tones that sound below, at most 3
    "room_above",  # semitones to the next tone above, at most 12, in octaves; 0 where none
    "room_below",  # semitones to the next tone below, at most 24, in octaves
    "height",  # octaves above the mean of the neighbourhood
    "height_squared",
    "register",  # octaves above the mean of the piece
    "register_squared",
    "rank",  # share of the neighbourhood's tones that are lower
    "length",  # log2 of the length in units
    "length_squared",
    "longer",  # log2 of the length against the mean of those struck with it
    "companions",  # tones of the same attack and end, at most 3
    "companions_above",  # those of them that are higher
    "alone",  # struck alone
    "again",  # share of the neighbourhood's tones with the same pitch
    "same_class",  # share with the same pitch class
    "step_before",  # a tone a step away ends where it begins
    "step_after",  # a tone a step away begins where it ends
    "leap_before",  # smallest interval from a tone that ends there, in octaves
    "leap_after",
    "unison",  # another tone has the same attack and pitch
    "octave_below",  # doubled in the lower octave, same length
    "octave_above",
    "loud",  # velocity above the neighbourhood's mean, in steps of 16
    "fills",  # lasts until the next attack of anything
    "usual",  # share of the neighbourhood's tones with the same length
    "above",  # share of its time under other tones
    "beneath",  # share of its time over other tones
    "tones_above",  # tones above it at any time, at most 3
    "at_pitch",  # another tone sounds at its pitch
    "close_above",  # share of its time with a tone at most a fifth above
    "close_below",
    "through",  # attacks while it sounds, at most 8
    "ends_alone",  # nothing else ends with it
    "rests_after",  # nothing begins where it ends
    "begins_after",  # tones that do, at most 4
    "comes_back",  # share of the usual lags at which a tone of its length lies within a step
    "repeats",  # the same at its very pitch
    "longer_near",  # log2 of the length against the mean of tones near in time and pitch
    "longer_all",  # and against all near in time
)


@dataclass(frozen=True)
class Clock:
    """The tones' times in units, with attacks and ends that belong together made equal.

    Attributes:
        unit: ticks.
        on, end: of each tone, in units.
        pitch: MIDI numbers.
        loud: velocities, 0 where there are none.
    """

    unit: float
    on: Numbers
    end: Numbers
    pitch: Numbers
    loud: Numbers

    @property
    def length(self) -> Numbers:
        """log2 of the lengths in units."""
        return np.asarray(np.log2(np.maximum(self.end - self.on, 0.05)))

    def of(self, kept: Indices) -> Clock:
        """The same of some of the tones only."""
        return Clock(self.unit, self.on[kept], self.end[kept], self.pitch[kept], self.loud[kept])


def clock(texture: Texture, together: float) -> Clock:
    """The times of the tones.

    Args:
        texture: all tones.
        together: beats by which attacks may miss each other and count as one.
    """
    tones = texture.tones
    slack = together * min(texture.beat_of(bar) for bar in texture.sketch.bars)
    points = np.unique([t.onset for t in tones]).astype(float)
    firsts = [points[0]]
    for point in points[1:]:
        if point - firsts[-1] > slack:
            firsts.append(point)
    attacks = np.array(firsts)
    on = attacks[np.searchsorted(attacks, [t.onset for t in tones], side="right") - 1]
    end = np.array([float(t.end) for t in tones])
    near = np.clip(np.searchsorted(attacks, end - slack), 0, len(attacks) - 1)
    end = np.where(np.abs(attacks[near] - end) <= slack, attacks[near], end)
    end = np.maximum(end, on + 1)
    steps = np.diff(attacks)
    unit = float(np.median(steps)) if len(steps) else float(texture.sketch.ticks)
    played = texture.sketch.source == "midi"  # what a notation program writes for its dynamics is no touch
    loud = np.array([float(t.velocity or 0) if played else 0.0 for t in tones])
    return Clock(unit, on / unit, end / unit, np.array([float(t.pitch) for t in tones]), loud)


def features(time: Clock) -> Numbers:
    """(tones, len(NAMES)), in the order of the tones: by attack."""
    on, end, pitch, loud, length = time.on, time.end, time.pitch, time.loud, time.length
    count = len(on)
    first = np.searchsorted(on, on, side="left")
    after = np.searchsorted(on, on, side="right")
    left, right = np.searchsorted(on, on - NEAR), np.searchsorted(on, on + NEAR, side="right")
    left_far, right_far = np.searchsorted(on, on - 16), np.searchsorted(on, on + 16, side="right")
    last = np.searchsorted(on, end - 1e-9)
    by_end = np.argsort(end, kind="stable")
    ends = end[by_end]
    ends_a, ends_b = np.searchsorted(ends, on - SLACK), np.searchsorted(ends, on + SLACK, side="right")
    starts_a, starts_b = np.searchsorted(on, end - SLACK), np.searchsorted(on, end + SLACK, side="right")
    same_a, same_b = np.searchsorted(ends, end - SLACK), np.searchsorted(ends, end + SLACK, side="right")
    classes = np.round(length * 3)
    mean = float(np.average(pitch, weights=np.minimum(end - on, 8)))
    back, same = _lags(on, pitch, classes)
    rows = np.zeros((count, len(NAMES)))
    held: list[int] = []
    previous = -1
    for i in range(count):
        if first[i] != previous:
            previous = first[i]
            held = [k for k in held if end[k] > on[i]] + list(range(first[i], after[i]))
        at = np.array(held)
        p = pitch[i]
        higher = pitch[at] - p
        up, down = higher[higher > 0], -higher[higher < 0]
        near = pitch[left[i] : right[i]]
        struck = np.delete(np.arange(first[i], after[i]), i - first[i])
        mates = struck[np.abs(end[struck] - end[i]) <= SLACK]
        over = np.concatenate([at[at != i], np.arange(after[i], max(after[i], last[i]))])
        shared = (np.minimum(end[over], end[i]) - np.maximum(on[over], on[i])) / (end[i] - on[i])
        rise = pitch[over] - p
        before = _smallest(p, pitch[by_end[ends_a[i] : ends_b[i]]], by_end[ends_a[i] : ends_b[i]], i)
        behind = _smallest(p, pitch[starts_a[i] : starts_b[i]], np.arange(starts_a[i], starts_b[i]), i)
        height, register = (p - near.mean()) / 12, (p - mean) / 12
        size = min(4.0, max(-3.0, length[i]))
        around = length[left_far[i] : right_far[i]]
        close = np.abs(pitch[left_far[i] : right_far[i]] - p) <= 5
        other = mates[pitch[mates] > p]
        rows[i] = (
            len(up) == 1,
            min(3, max(0, len(up) - 1)),
            min(3, len(down)),
            min(12, up.min()) / 12 if len(up) else 0,
            min(24, down.min()) / 12 if len(down) else 2,
            height,
            height * height,
            register,
            register * register,
            (near < p).mean(),
            size,
            size * size / 4,
            np.clip(length[i] - np.log2(np.exp2(length[struck]).mean()), -2, 2) if len(struck) else 0,
            min(3, len(mates)),
            min(3, len(other)),
            not len(struck),
            (near == p).mean(),
            ((near - p) % 12 == 0).mean(),
            0 < before <= 2,
            0 < behind <= 2,
            min(12, before) / 12,
            min(12, behind) / 12,
            bool((pitch[struck] == p).any()),
            bool((pitch[mates] == p - 12).any()),
            bool((pitch[mates] == p + 12).any()),
            np.clip((loud[i] - loud[left[i] : right[i]].mean()) / 16, -2, 2),
            after[i] == count or end[i] >= on[after[i]] - SLACK,
            (classes[left[i] : right[i]] == classes[i]).mean(),
            min(1, shared[rise > 0].sum()),
            min(1, shared[rise < 0].sum()),
            min(3, (rise > 0).sum()) / 3,
            bool((rise == 0).any()),
            min(1, shared[(rise > 0) & (rise <= 7)].sum()),
            min(1, shared[(rise < 0) & (rise >= -7)].sum()),
            min(8, max(0, last[i] - after[i])) / 8,
            same_b[i] - same_a[i] <= 1,
            starts_b[i] == starts_a[i],
            min(4, starts_b[i] - starts_a[i]) / 4,
            back[i],
            same[i],
            np.clip(length[i] - around[close].mean(), -2, 2),
            np.clip(length[i] - around.mean(), -3, 3),
        )
    return rows


def _smallest(pitch: float, others: Numbers, indices: Any, own: int) -> float:
    """The smallest interval to any of them, an octave where there is none."""
    found = np.abs(others - pitch)[indices != own]
    return float(found.min()) if len(found) else 12.0


def _lags(on: Numbers, pitch: Numbers, classes: Numbers) -> tuple[Numbers, Numbers]:
    """Share of the usual lags, before and after, at which a tone of the same length lies within a step; at its pitch."""
    cells: dict[tuple[int, int], list[float]] = defaultdict(list)
    places = np.round(on * 2).astype(int)
    kinds = classes.astype(int)
    for k in range(len(on)):
        cells[int(places[k]), int(kinds[k])].append(float(pitch[k]))
    back, same = np.zeros(len(on)), np.zeros(len(on))
    for k in range(len(on)):
        for lag in LAGS:
            for way in (-2 * lag, 2 * lag):
                others = cells.get((int(places[k]) + way, int(kinds[k])), ())
                back[k] += any(abs(p - pitch[k]) <= 2 for p in others)
                same[k] += any(p == pitch[k] for p in others)
    return back / (2 * len(LAGS)), same / (2 * len(LAGS))
