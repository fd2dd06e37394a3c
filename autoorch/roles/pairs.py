"""What two notes of one voice that may follow each other look like: by themselves, and when all pairs have odds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from autoorch.roles.parameters import Section
from autoorch.roles.texture import Tone

Numbers = NDArray[np.float64]
Indices = NDArray[np.int64]
FADE = 0.75
"""What a note counts in its voice's register for each note nearer."""

LOOKS = (
    "interval",  # semitones, at most 24, in sixths
    "repeated",  # none
    "step",  # a tone or semitone
    "third",
    "wide",  # more than an octave
    "interval_squared",  # in hundreds
    "rest",  # silence between
    "silence",  # log2(1 + units)
    "long_rest",  # more than two units
    "rank_above",  # change in the number of tones sounding above, at most 3
    "rank_below",
    "same_rank",  # neither changes
    "other_number",  # the number of tones sounding changes
    "same_length",
    "length",  # change of log2 of the length, at most 3
    "crossed",  # tones held on between the two pitches, at most 3
    "better_second",  # how much nearer the second is than the best other one that could follow, sixths of semitones, at most 3
    "better_first",  # and the first than the best other one that could go before
    "both_highest",
    "both_lowest",
    "leap_over_rest",  # octaves of the interval times the silence
)
AGAIN = (
    "likelier_second",  # log-odds above those of the likeliest other note that could follow, at most 8
    "likelier_first",  # and above those of the likeliest other one that could go before
    "nearer_second",  # how much nearer the registers of both voices are than with the best other second, as better_second
    "nearer_first",  # and with the best other first
    "elsewhere",  # log-odds of the same two notes elsewhere in the cue
    "others_second",  # likelihoods of the others that could follow together, at most 3
    "others_first",  # and of those that could go before
)


def pairs(tones: Sequence[Tone], choice: Section) -> tuple[Indices, Indices, Numbers]:
    """First and second note of each pair that may follow each other, and (pairs, len(LOOKS)) what they look like."""
    on = np.array([t.onset for t in tones])
    end = np.array([t.end for t in tones])
    pitch = np.array([t.pitch for t in tones])
    steps = np.diff(np.unique(on))
    unit = float(np.median(steps)) if len(steps) else float(max(1, end[0] - on[0]))
    asker, other = _sounding(on, end)
    above = np.bincount(asker[pitch[other] > pitch[asker]], minlength=len(tones))
    below = np.bincount(asker[pitch[other] < pitch[asker]], minlength=len(tones))
    number = np.bincount(asker, minlength=len(tones))
    first, second = _near(on, end, choice["reach"] * unit, choice["back"] * unit, int(choice["most"]))
    interval = np.abs(pitch[second] - pitch[first]).astype(float)
    gap, length = (on[second] - end[first]) / unit, np.log2((end - on) / unit)
    cost = interval + choice["rest"] * np.minimum(gap, choice["back"])
    held = on[other] < on[asker]
    pair, still = _ranges(np.searchsorted(asker[held], second), np.searchsorted(asker[held], second, side="right"))
    still = other[held][still]
    low, high = np.minimum(pitch[first], pitch[second])[pair], np.maximum(pitch[first], pitch[second])[pair]
    between = (on[still] < end[first][pair]) & (low < pitch[still]) & (pitch[still] < high)
    crossed = np.bincount(pair[between], minlength=len(first))
    up, down = np.abs(above[second] - above[first]), np.abs(below[second] - below[first])
    longer = np.abs(length[second] - length[first])
    looks = (
        np.minimum(interval, 24) / 6,
        interval == 0,
        (interval > 0) & (interval <= 2),
        (interval > 2) & (interval <= 4),
        interval > 12,
        np.minimum(interval, 24) ** 2 / 100,
        gap > 0.01,
        np.log2(1 + gap),
        gap > 2,
        np.minimum(3, up),
        np.minimum(3, down),
        (up == 0) & (down == 0),
        number[second] != number[first],
        longer < 0.1,
        np.minimum(3, longer),
        np.minimum(3, crossed),
        np.clip((rival(second, cost, len(tones)) - cost) / 6, -3, 3),
        np.clip((rival(first, cost, len(tones)) - cost) / 6, -3, 3),
        (above[second] == 0) & (above[first] == 0),
        (below[second] == 0) & (below[first] == 0),
        np.log2(1 + np.minimum(gap, 16)) * interval / 12,
    )
    return first, second, np.stack([np.asarray(look, dtype=float) for look in looks], axis=1)


def _ranges(start: Indices, stop: Indices) -> tuple[Indices, Indices]:
    """All numbers from `start[k]` to before `stop[k]`, for each k in turn: k and the number."""
    size = stop - start
    which = np.repeat(np.arange(len(size)), size)
    return which, np.arange(len(which)) + (start - np.cumsum(size) + size)[which]


def _sounding(on: Indices, end: Indices) -> tuple[Indices, Indices]:
    """Each tone with each that sounds at its attack, itself too: in order of the first."""
    held: list[int] = []
    rows: list[list[int]] = []
    for onset, start, stop in zip(*(part.tolist() for part in _attacks(on)), strict=True):
        held = [k for k in held if end[k] > onset]
        held += range(start, stop)
        rows += [held] * (stop - start)
    return np.repeat(np.arange(len(on)), [len(row) for row in rows]), np.array([k for row in rows for k in row])


def _attacks(on: Indices) -> tuple[Indices, Indices, Indices]:
    """Each tick with an attack, its first tone and the one after its last."""
    onsets = np.unique(on)
    return onsets, np.searchsorted(on, onsets), np.searchsorted(on, onsets, side="right")


def _near(on: Indices, end: Indices, reach: float, back: float, most: int) -> tuple[Indices, Indices]:
    """First and second tone of each pair that may follow each other: of those that end last before the second so many.

    Args:
        on, end: ticks.
        reach: ticks from attack to attack at most.
        back: ticks of silence between at most.
    """
    second, first = _ranges(np.searchsorted(on, on - reach), np.searchsorted(on, on))
    near = (end[first] <= on[second]) & (end[first] >= on[second] - back)
    first, second = first[near], second[near]
    order = np.lexsort((first, -end[first], second))
    first, second = first[order], second[order]
    kept = np.arange(len(second)) - np.searchsorted(second, second) < most
    return first[kept], second[kept]


def rival(ends: Indices, cost: Numbers, count: int) -> Numbers:
    """Of each pair the least cost of another pair with the same end."""
    far = 99.0
    order = np.lexsort((cost, ends))
    place = np.searchsorted(ends[order], np.arange(count + 1))
    ranked = np.append(cost[order], (far, far))
    size = np.diff(place)
    least = np.where(size > 0, np.minimum(ranked[place[:-1]], far), far)
    next_ = np.where(size > 1, np.minimum(ranked[place[:-1] + 1], far), far)
    return np.asarray(np.where(cost <= least[ends], next_[ends], least[ends]))


def second_look(
    tones: Sequence[Tone], first: Indices, second: Indices, chance: Numbers, follows: Mapping[int, int], choice: Section
) -> Numbers:
    """(pairs, len(AGAIN)) what each pair looks like when all have a likelihood.

    Args:
        tones, first, second: as in `pairs`.
        chance: likelihood of each pair.
        follows: note -> next one of its voice, as it seems so far.
    """
    count = len(tones)
    pitch = np.array([t.pitch - tones[0].pitch for t in tones], dtype=float)  # counted alike in every key
    on, end = np.array([t.onset for t in tones]), np.array([t.end for t in tones])
    steps = np.diff(np.unique(on))
    unit = float(np.median(steps)) if len(steps) else 1.0
    before = _registers(pitch, {b: a for a, b in follows.items()}, range(count))
    after = _registers(pitch, follows, range(count - 1, -1, -1))
    ways = np.abs(
        np.stack([pitch[second] - before[first], pitch[first] - after[second], before[first] - after[second]])
    )
    gap = (on[second] - end[first]) / unit
    cost = np.minimum(ways, 24).sum(axis=0) / 3 + choice["rest"] * np.minimum(gap, choice["back"])
    odds = _odds(chance, 1e-6)
    same = np.stack(
        [pitch[first], pitch[second], on[second] - on[first], (end - on)[first], (end - on)[second]], axis=1
    )
    _, kind = np.unique(same, axis=0, return_inverse=True)
    kind = kind.reshape(-1)
    times, together = np.bincount(kind)[kind], np.bincount(kind, chance)[kind]
    elsewhere = np.where(times > 1, (together - chance) / np.maximum(1, times - 1), chance)
    return np.stack(
        [
            np.clip(odds + rival(second, -odds, count), -8, 8),
            np.clip(odds + rival(first, -odds, count), -8, 8),
            np.clip((rival(second, cost, count) - cost) / 6, -3, 3),
            np.clip((rival(first, cost, count) - cost) / 6, -3, 3),
            _odds(elsewhere, 1e-3),
            np.minimum(3, np.bincount(second, chance, count)[second] - chance),
            np.minimum(3, np.bincount(first, chance, count)[first] - chance),
        ],
        axis=1,
    )


def _registers(pitch: Numbers, neighbour: Mapping[int, int], order: Sequence[int]) -> Numbers:
    """Of each note the mean pitch of itself and its voice on the neighbour's side, near notes counting most."""
    mean, weight = pitch.copy(), np.ones(len(pitch))
    for k in order:
        if k in neighbour:
            other = weight[neighbour[k]] * FADE
            mean[k] = (mean[neighbour[k]] * other + pitch[k]) / (other + 1)
            weight[k] = other + 1
    return mean


def _odds(chance: Numbers, least: float) -> Numbers:
    """Log-odds, of likelihoods kept that far from 0 and 1."""
    kept = np.clip(chance, least, 1 - least)
    return np.asarray(np.log(kept / (1 - kept)))
