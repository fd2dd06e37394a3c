"""The pulses that a played take may have: regular moments about which its attacks gather, at whatever level.

A pulse says where in its course attacks are to be expected: on it most, in its middle, on its quarters and thirds less,
elsewhere hardly ever; how likely the attacks as played are under that is its worth (the cyclic Poisson observation of
Whiteley, Cemgil and Godsill, "Bayesian modelling of temporal structure in musical audio", ISMIR 2006). Its tempo may wander
near a basic one (dynamic programming over moments and periods: Ellis, Journal of New Music Research 36, 2007; the period as
part of the state after Krebs, Böck and Widmer, ISMIR 2015). Basic tempos over two octaves and more are tried side by side, since
which level is the beat is for the metre to say. Long notes weigh more (Dixon, Journal of New Music Research 30, 2001).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_KEYS = "hop shortest longest octave reach grid change prior spread chord uneven half quarter third near inertia long short alike"
SCHEMA = {"pulse": dict.fromkeys(_KEYS.split(), float) | {"kept": int}}
LEAST = 2
"""Moments that make a pulse."""


@dataclass(frozen=True)
class Pulse:
    """Moments (seconds, ascending, from at or before the first attack to the last one or beyond), and the logarithm of the odds
    of the attacks, against none expected anywhere more than elsewhere, a second."""

    moments: Array
    worth: float

    @property
    def period(self) -> float:
        """Seconds, in the middle."""
        return float(np.median(np.diff(self.moments)))


def find_pulses(onsets: Array, ends: Array, table: Mapping[str, Any]) -> list[Pulse]:
    """Pulses of different tempos that explain the attacks best, the best one first.

    Args:
        onsets, ends: seconds, by onset.
        table: [pulse] of constraints/beats.toml.
    """
    weights = np.minimum(ends - onsets, table["long"]) + table["short"]
    found = [pulse for pulse in _tracked(onsets, weights, table) if len(pulse.moments) >= LEAST]
    found.sort(key=lambda pulse: -pulse.worth)
    kept: list[Pulse] = []
    for pulse in found:
        if len(kept) < table["kept"] and all(
            abs(np.log2(pulse.period / other.period)) > table["alike"] for other in kept
        ):
            kept.append(pulse)
    return [Pulse(_fine(pulse.moments, onsets, weights, table), pulse.worth) for pulse in kept]


def _tracked(onsets: Array, weights: Array, table: Mapping[str, Any]) -> list[Pulse]:
    """The best pulse around each basic tempo, by Viterbi search over (frame, period before it), all of them at once."""
    hop, octave = table["hop"], table["octave"]
    count = int(octave * np.log2(table["longest"] / table["shortest"])) + 1
    side = round(table["reach"] / table["grid"])
    away = np.arange(-side, side + 1) * table["grid"]
    basic = table["shortest"] * 2 ** (np.arange(count) / octave)
    periods = np.rint(basic[:, None] * 2**away / hop).astype(int)
    kinds, column = np.unique(periods, return_inverse=True)
    column = column.reshape(periods.shape)
    longest = int(kinds[-1])
    origin = float(onsets[0]) - longest * hop
    frames = int((float(onsets[-1]) - origin) / hop) + 2 * longest + 2
    explained = _explained(onsets - origin, weights, frames, kinds, table)
    constant = -table["prior"] * periods * hop * away**2
    change = -table["change"] * (away[:, None] - away[None, :]) ** 2  # from column to row
    row, place, ring = np.arange(count)[:, None], np.arange(len(away))[None, :], longest + 1
    best = np.zeros((ring, *periods.shape))  # after the change to the next period, by frame and that period
    came = np.zeros((frames, *periods.shape), dtype=np.int8)
    last = np.zeros((longest, *periods.shape))
    for frame in range(frames):
        gained = best[(frame - periods) % ring, row, place] + constant + explained[frame, column]
        last[frame % longest] = gained
        turned = gained[:, None, :] + change
        chosen = turned.argmax(axis=2)
        came[frame] = chosen
        best[frame % ring] = np.take_along_axis(turned, chosen[:, :, None], 2)[:, :, 0]
    last = last[(np.arange(frames - longest, frames)) % longest]
    found = []
    for index, each in enumerate(periods):
        ends = last[-int(each[-1]) :, index]
        end, period = (int(k) for k in np.unravel_index(int(ends.argmax()), ends.shape))
        path = [frames - len(ends) + end]
        while (before := path[-1] - int(each[period])) >= 0:
            period = int(came[path[-1] - int(each[period]), index, period])
            path.append(before)
        worth = float(ends.max()) / (float(onsets[-1] - onsets[0]) + hop)
        found.append(Pulse(origin + hop * np.array(path[::-1], dtype=float), worth))
    return found


def _explained(
    onsets: Array, weights: Array, frames: int, periods: NDArray[np.int64], table: Mapping[str, Any]
) -> NDArray[np.float32]:
    """Log-odds of the attacks in one course of a pulse that ends at each frame: an array (frames, periods)."""
    first = np.flatnonzero(_new_chord(onsets, table["chord"]))
    mass = np.add.reduceat(weights, first)
    moments = np.add.reduceat(weights * onsets, first) / mass
    struck = np.zeros(frames)
    np.add.at(struck, np.rint(moments / table["hop"]).astype(int), np.log1p(mass))
    found = np.zeros((frames, len(periods)), dtype=np.float32)
    for index, period in enumerate(periods):
        expected = _expected(int(period), table)
        found[:, index] = np.convolve(struck, expected[-np.arange(period) % period])[:frames]
    return found


def _new_chord(onsets: Array, chord: float) -> NDArray[np.bool_]:
    """Whether an attack comes more than `chord` seconds after the first one of the chord before."""
    found = np.ones(len(onsets), dtype=bool)
    first = 0
    for index in range(1, len(onsets)):
        if onsets[index] - onsets[first] <= chord:
            found[index] = False
        else:
            first = index
    return found


def _expected(period: int, table: Mapping[str, float]) -> Array:
    """Logarithm of how many attacks are expected at each frame of a pulse, against their mean."""
    at = np.arange(period) / period
    places = [(0.0, 1.0), (1 / 2, table["half"])]
    places += [(k / 4, table["quarter"]) for k in (1, 3)] + [(k / 3, table["third"]) for k in (1, 2)]
    rate = np.full(period, table["uneven"])
    for place, worth in places:
        away = np.abs(at - place)
        away = np.minimum(away, 1 - away) * period * table["hop"]
        rate += worth * np.exp(-0.5 * (away / table["spread"]) ** 2)
    found: Array = np.log(rate / rate.mean())
    return found


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
