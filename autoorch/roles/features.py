"""What each tone looks like among its neighbours: the numbers that melody is told by, free of key, register and note values.

All times are measured in the piece's own unit, the median step from attack to attack; attacks that lie closer than a player's
hands are apart count as one.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from autoorch.roles.texture import Texture

Numbers = NDArray[np.float64]
Indices = NDArray[np.int64]

NEAR = 12.0
"""Units on each side that make a note's neighbourhood."""
FAR = 16
"""Units on each side that make its wider surroundings."""
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


class _Places:
    """For each tone, the tones around it, as first index and index after the last, and its length.

    Attributes:
        first, after: struck with it.
        left, right: near in time; `left_far`, `right_far`: in its wider surroundings.
        last: after the last that begins while it sounds.
        by_end: indices in order of ends.
        ending, together: of `by_end`, those that end where it begins, those that end with it.
        starting: those that begin where it ends.
        length: log2 of the lengths in units; `classes`: in steps of a third.
    """

    def __init__(self, time: Clock) -> None:
        on, end = time.on, time.end
        self.first, self.after = np.searchsorted(on, on, side="left"), np.searchsorted(on, on, side="right")
        self.left, self.right = np.searchsorted(on, on - NEAR), np.searchsorted(on, on + NEAR, side="right")
        self.left_far, self.right_far = np.searchsorted(on, on - FAR), np.searchsorted(on, on + FAR, side="right")
        self.last = np.searchsorted(on, end - 1e-9)
        self.by_end = np.argsort(end, kind="stable")
        ends = end[self.by_end]
        self.ending, self.together, self.starting = _within(ends, on), _within(ends, end), _within(on, end)
        self.length = time.length
        self.classes = np.round(self.length * 3)


def _within(values: Numbers, points: Numbers) -> tuple[Indices, Indices]:
    """First index, and index after the last, of the ordered values that lie at each point."""
    return np.searchsorted(values, points - SLACK), np.searchsorted(values, points + SLACK, side="right")


def features(time: Clock) -> Numbers:
    """(tones, len(NAMES)), in the order of the tones: by attack."""
    places = _Places(time)
    mean = float(np.average(time.pitch, weights=np.minimum(time.end - time.on, 8)))
    back, same = _lags(time.on, time.pitch, places.classes)
    rows = np.zeros((len(time.on), len(NAMES)))
    held: list[int] = []
    previous = -1
    for i, (first, after) in enumerate(zip(places.first, places.after, strict=True)):
        if first != previous:
            previous = first
            held = [k for k in held if time.end[k] > time.on[i]] + list(range(first, after))
        sounding = np.array(held)
        struck = np.delete(np.arange(first, after), i - first)
        mates = struck[np.abs(time.end[struck] - time.end[i]) <= SLACK]
        rows[i] = (
            *_among(time.pitch[sounding] - time.pitch[i]),
            *_in_register(time, places, i, mean),
            *_in_chord(places, i, struck, mates, time.pitch[mates] > time.pitch[i]),
            *_in_line(time, places, i),
            *_doubled(time.pitch[struck] - time.pitch[i], time.pitch[mates] - time.pitch[i]),
            *_usual(time, places, i),
            *_beside(time, places, i, sounding),
            *_where_it_ends(places, i),
            back[i],
            same[i],
            *_against_others(time, places, i),
        )
    return rows


def _among(rise: Numbers) -> tuple[float, ...]:
    """Its place among what sounds at its attack, which lies so far above: "one_above" to "room_below"."""
    up, down = rise[rise > 0], -rise[rise < 0]
    return (
        len(up) == 1,
        min(3, max(0, len(up) - 1)),
        min(3, len(down)),
        min(12, up.min()) / 12 if len(up) else 0,
        min(24, down.min()) / 12 if len(down) else 2,
    )


def _in_register(time: Clock, places: _Places, i: int, mean: float) -> tuple[float, ...]:
    """ "height" to "rank"."""
    near = time.pitch[places.left[i] : places.right[i]]
    height, register = (time.pitch[i] - near.mean()) / 12, (time.pitch[i] - mean) / 12
    return height, height * height, register, register * register, (near < time.pitch[i]).mean()


def _in_chord(places: _Places, i: int, struck: Indices, mates: Indices, higher: NDArray[np.bool_]) -> tuple[float, ...]:
    """ "length" to "alone", given what is struck with it, and what of that ends with it."""
    size = min(4.0, max(-3.0, places.length[i]))
    longer = places.length[i] - np.log2(np.exp2(places.length[struck]).mean()) if len(struck) else 0
    return size, size * size / 4, np.clip(longer, -2, 2), min(3, len(mates)), min(3, higher.sum()), not len(struck)


def _in_line(time: Clock, places: _Places, i: int) -> tuple[float, ...]:
    """ "again" to "leap_after"."""
    pitch = time.pitch[i]
    near = time.pitch[places.left[i] : places.right[i]]
    ending = places.by_end[places.ending[0][i] : places.ending[1][i]]
    starting = np.arange(places.starting[0][i], places.starting[1][i])
    before, behind = (_smallest(pitch, time.pitch[others], others, i) for others in (ending, starting))
    return (
        (near == pitch).mean(),
        ((near - pitch) % 12 == 0).mean(),
        0 < before <= 2,
        0 < behind <= 2,
        min(12, before) / 12,
        min(12, behind) / 12,
    )


def _doubled(struck: Numbers, mates: Numbers) -> tuple[float, ...]:
    """ "unison" to "octave_above", given the intervals to what is struck with it, and to what of that ends with it."""
    return bool((struck == 0).any()), bool((mates == -12).any()), bool((mates == 12).any())


def _usual(time: Clock, places: _Places, i: int) -> tuple[float, ...]:
    """ "loud" to "usual"."""
    near, after = slice(places.left[i], places.right[i]), places.after[i]
    return (
        np.clip((time.loud[i] - time.loud[near].mean()) / 16, -2, 2),
        after == len(time.on) or time.end[i] >= time.on[after] - SLACK,
        (places.classes[near] == places.classes[i]).mean(),
    )


def _beside(time: Clock, places: _Places, i: int, sounding: Indices) -> tuple[float, ...]:
    """ "above" to "close_below", by all that sounds while it does."""
    on, end, after = time.on, time.end, places.after[i]
    over = np.concatenate([sounding[sounding != i], np.arange(after, max(after, places.last[i]))])
    shared = (np.minimum(end[over], end[i]) - np.maximum(on[over], on[i])) / (end[i] - on[i])
    rise = time.pitch[over] - time.pitch[i]
    return (
        min(1, shared[rise > 0].sum()),
        min(1, shared[rise < 0].sum()),
        min(3, (rise > 0).sum()) / 3,
        bool((rise == 0).any()),
        min(1, shared[(rise > 0) & (rise <= 7)].sum()),
        min(1, shared[(rise < 0) & (rise >= -7)].sum()),
    )


def _where_it_ends(places: _Places, i: int) -> tuple[float, ...]:
    """ "through" to "begins_after"."""
    together, starting = (stretch[1][i] - stretch[0][i] for stretch in (places.together, places.starting))
    return min(8, max(0, places.last[i] - places.after[i])) / 8, together <= 1, starting == 0, min(4, starting) / 4


def _against_others(time: Clock, places: _Places, i: int) -> tuple[float, ...]:
    """ "longer_near" and "longer_all"."""
    far = slice(places.left_far[i], places.right_far[i])
    around = places.length[far]
    close = np.abs(time.pitch[far] - time.pitch[i]) <= 5
    longer = places.length[i] - around[close].mean(), places.length[i] - around.mean()
    return np.clip(longer[0], -2, 2), np.clip(longer[1], -3, 3)


def _smallest(pitch: float, others: Numbers, indices: Indices, own: int) -> float:
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
