"""The pulse of a played take: regular moments that its attacks fall on, at whatever level they do so most clearly.

Dynamic programming over moments and periods (Ellis, "Beat tracking by dynamic programming", Journal of New Music Research
36, 2007; the period as part of the state after Krebs, Böck and Widmer, ISMIR 2015), on the salience of attacks rather than
of sound: long notes weigh more (Dixon, "Automatic extraction of tempo and beat from expressive
performances", Journal of New Music Research 30, 2001). A pulse also explains attacks at its halves, thirds and quarters.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_KEYS = "hop reach blur change cost prior half quarter third near inertia long short"
SCHEMA = {"pulse": dict.fromkeys(_KEYS.split(), float) | {"periods": [float]}}


def find_pulse(onsets: Array, weights: Array, usual: float, table: Mapping[str, Any]) -> Array:
    """Moments of the pulse, from at or before the first attack to the last one or beyond.

    Args:
        onsets: seconds, ascending.
        weights: salience of each attack.
        usual: seconds of its usual period.
        table: [pulse] of constraints/beats.toml.

    Returns:
        Seconds, ascending; two at least.
    """
    hop = table["hop"]
    slowest = usual * table["reach"]
    origin = float(onsets[0]) - slowest
    accents = _accents(onsets - origin, weights, float(onsets[-1]) - origin + 2 * slowest, table)
    periods = np.arange(round(usual / table["reach"] / hop), round(slowest / hop) + 1)
    moments = _track(accents, periods, usual, table)
    return _fine(origin + hop * moments, onsets, weights, table)


def _accents(onsets: Array, weights: Array, length: float, table: Mapping[str, Any]) -> Array:
    """Salience by frame: attacks blurred by a bell of `blur` seconds; what falls together counts less than its sum."""
    hop, blur = table["hop"], table["blur"]
    frames = np.zeros(int(length / hop) + 2)
    np.add.at(frames, np.rint(onsets / hop).astype(int), weights)
    reach = int(3 * blur / hop)
    bell = np.exp(-0.5 * (np.arange(-reach, reach + 1) * hop / blur) ** 2)
    found: Array = np.log1p(np.convolve(frames, bell, mode="same"))
    return found


def _track(accents: Array, periods: NDArray[np.int64], usual: float, table: Mapping[str, Any]) -> Array:
    """Frames of the pulse by Viterbi search over (frame, period before it)."""
    hop, count = table["hop"], len(periods)
    seconds = periods * hop
    logs = np.log2(seconds)
    change = -table["change"] * (logs[:, None] - logs[None, :]) ** 2  # from column to row
    constant = -table["cost"] - table["prior"] * seconds * (logs - np.log2(usual)) ** 2
    places = [(1 / 2, table["half"])]
    places += [(k / 4, table["quarter"]) for k in (1, 3)] + [(k / 3, table["third"]) for k in (1, 2)]
    offsets = np.array([np.rint(periods * share).astype(int) for share, _ in places])
    worth = np.array([value for _, value in places])
    first, total = int(periods[-1]), len(accents)
    padded = np.concatenate((np.zeros(first), accents))
    best = np.zeros((total + first, count))  # after the change to the next period, by frame and that period
    came = np.zeros((total + first, count), dtype=np.int16)
    score = np.zeros((total, count))
    columns = np.arange(count)
    for frame in range(total):
        here = frame + first
        between = worth @ padded[here - offsets]
        gained = best[here - periods, columns] + constant + padded[here] + between
        score[frame] = gained
        turned = gained[None, :] + change
        came[here] = turned.argmax(1)
        best[here] = turned[columns, came[here]]
    last = score[-first:].max(1).argmax() + total - first
    period = int(score[last].argmax())
    frames = [int(last)]
    while (before := frames[-1] - int(periods[period])) >= 0:
        period = int(came[before + first, period])
        frames.append(before)
    return np.array(frames[::-1], dtype=float)


def _fine(moments: Array, onsets: Array, weights: Array, table: Mapping[str, Any]) -> Array:
    """Each moment moved toward the mean of the attacks near it, the farther the more salient they are."""
    found = moments.copy()
    for index, moment in enumerate(moments):
        low, high = np.searchsorted(onsets, (moment - table["near"], moment + table["near"]))
        mass = float(weights[low:high].sum())
        pull = mass / (mass + table["inertia"])
        if mass:
            found[index] += pull * (float(weights[low:high] @ onsets[low:high]) / mass - moment)
    return found
