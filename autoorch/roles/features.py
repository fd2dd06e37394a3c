"""What each tone looks like among its neighbours: the numbers that melody is told by, free of key, register and note values.

All times are measured in the piece's own unit, the median distance from attack to attack.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right

import numpy as np
from numpy.typing import NDArray

from autoorch.roles.texture import Texture, Tone

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
    "companions",  # tones of the same attack and length, at most 3
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
)


def unit_of(texture: Texture) -> float:
    """Ticks from attack to attack, the median."""
    steps = np.diff(np.array(texture.onsets, dtype=np.float64))
    return float(np.median(steps)) if len(steps) else float(texture.sketch.ticks)


def features(texture: Texture, near_units: float, join: float) -> NDArray[np.float64]:
    """(tones, len(NAMES)), in the order of `Texture.tones`.

    Args:
        texture: all tones.
        near_units: units on each side that make the neighbourhood.
        join: units by which end and attack of two neighbours in a line may miss each other.
    """
    tones = texture.tones
    unit = unit_of(texture)
    slack = join * unit
    pitches = np.array([t.pitch for t in tones], dtype=np.float64)
    starts = [t.onset for t in tones]
    by_end = sorted(tones, key=lambda t: (t.end, t.index))
    ends = [t.end for t in by_end]
    lengths = np.array([max(1, t.length) / unit for t in tones])
    classes = np.round(np.log2(lengths) * 3)
    loud = np.array([t.velocity if t.velocity is not None else 0 for t in tones], dtype=np.float64)
    mean = float(np.average(pitches, weights=np.minimum(lengths, 8)))
    rows = np.zeros((len(tones), len(NAMES)))
    for tone in tones:
        i = tone.index
        a = bisect_left(starts, tone.onset - near_units * unit)
        b = bisect_right(starts, tone.onset + near_units * unit)
        near = pitches[a:b]
        sounding = texture.sounding[tone.onset]
        above = [t.pitch for t in sounding if t.pitch > tone.pitch]
        below = [t.pitch for t in sounding if t.pitch < tone.pitch]
        struck = [t for t in texture.attacks[tone.onset] if t.index != i]
        mates = [t for t in struck if abs(t.end - tone.end) <= slack]
        height = (tone.pitch - near.mean()) / 12
        register = (tone.pitch - mean) / 12
        length = float(np.clip(np.log2(lengths[i]), -3, 4))
        next_onset = starts[bisect_right(starts, tone.onset)] if tone.onset < starts[-1] else tone.end
        before = _smallest(tone, [by_end[k] for k in _span(ends, tone.onset, slack)])
        after = _smallest(tone, [tones[k] for k in _span(starts, tone.end, slack)])
        rows[i] = (
            len(above) == 1,
            min(3, max(0, len(above) - 1)),
            min(3, len(below)),
            min(12, min(above) - tone.pitch) / 12 if above else 0,
            min(24, tone.pitch - max(below)) / 12 if below else 2,
            height,
            height * height,
            register,
            register * register,
            (near < tone.pitch).mean(),
            length,
            length * length / 4,
            np.clip(np.log2(lengths[i] / np.mean([lengths[t.index] for t in struck])), -2, 2) if struck else 0,
            min(3, len(mates)),
            min(3, sum(t.pitch > tone.pitch for t in mates)),
            not struck,
            (near == tone.pitch).mean(),
            ((near - tone.pitch) % 12 == 0).mean(),
            0 < before <= 2,
            0 < after <= 2,
            min(12, before) / 12,
            min(12, after) / 12,
            any(t.pitch == tone.pitch for t in struck),
            any(t.pitch == tone.pitch - 12 for t in mates),
            any(t.pitch == tone.pitch + 12 for t in mates),
            np.clip((loud[i] - loud[a:b].mean()) / 16, -2, 2),
            tone.end >= next_onset - slack,
            (classes[a:b] == classes[i]).mean(),
        )
    return rows


def _span(ticks: list[int], tick: int, slack: float) -> range:
    return range(bisect_left(ticks, tick - slack), bisect_right(ticks, tick + slack))


def _smallest(tone: Tone, others: list[Tone]) -> int:
    """The smallest interval to any of them, an octave where there is none."""
    return min((abs(t.pitch - tone.pitch) for t in others if t.index != tone.index), default=12)
