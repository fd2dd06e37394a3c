"""What a first pass over a song tells of its singer, for a second one: the range, the usual note values of what is likely
sung, what comes again with and without it (a prelude that returns, a figure under every line), and which note is left over
when two hands have taken what they can.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from autoorch.roles.features import Clock, Numbers

AGAIN = (
    "first",  # log-odds after the first pass
    "far",  # distance from the mean pitch of what is likely sung, in its spreads, squared
    "values",  # log of how often notes of its length are sung, against all notes
    "spare",  # share of the attacks it sounds at that two hands can play without it, but not with it
    "fresh",  # the notes around it come again elsewhere, it doesn't
    "recalled",  # log-odds of the notes that stand in its place where the notes around it come again
)
SURE = 1e-4
"""Likelihood below which, or so close to 1, nothing is told apart."""
FEW = 2.0
"""Notes of the usual likelihood added to every count of few notes."""
AROUND = 3.0
"""Units on each side in which notes must come again."""
PLACES = 30
"""Distances at which music comes again that are looked at, those with most notes first,"""
NEAREST = 4.0
"""in units, from this on;"""
NEXT = 24
"""of each note to so many of its kind that follow."""
FINE = 2
"""Steps of a unit by which places are compared."""
SHARP = 4
"""Power of the share of notes that come again by which a place weighs."""
TOUCH = 1e-6
"""Units of rounding between an end and the next attack."""
HAND = 14
"""Semitones that a hand spans with ease: a ninth (common practice)."""

LARGEST = 700.0
"""Log-odds beyond which nothing is more certain: exp of much more is no number."""


def look_again(time: Clock, chance: Numbers) -> Numbers:
    """(tones, len(AGAIN)), in the order of the tones: by attack.

    Args:
        time: of tones none of which is the same as another.
        chance: how likely each is in the tune, after the first pass.
    """
    odds = log_odds(chance)
    weight = chance**2 + SURE**2
    mean = np.average(time.pitch, weights=weight)
    spread = np.sqrt(np.average((time.pitch - mean) ** 2, weights=weight)) + 1
    fresh, recalled = _come_again(time, odds)
    far = ((time.pitch - mean) / spread) ** 2
    return np.stack([odds, far, _often(np.round(3 * time.length), chance), _spare(time), fresh, recalled], axis=1)


def chances(odds: Numbers) -> Numbers:
    """How likely what has such log odds is."""
    return np.asarray(1 / (1 + np.exp(np.clip(-odds, -LARGEST, LARGEST))))


def log_odds(chance: Numbers) -> Numbers:
    """log(p / (1 - p))"""
    sure = np.clip(chance, SURE, 1 - SURE)
    return np.asarray(np.log(sure / (1 - sure)))


def _often(kinds: Numbers, chance: Numbers) -> Numbers:
    """(tones,) log of how likely other tones of its kind are, against all."""
    usual = float(chance.mean()) + SURE
    _, place = np.unique(kinds, return_inverse=True)
    count, sung = np.bincount(place)[place] - 1, np.bincount(place, weights=chance)[place] - chance
    return np.asarray(np.log((sung + FEW * usual) / (count + FEW) / usual))


def _come_again(time: Clock, odds: Numbers) -> tuple[Numbers, Numbers]:
    """(tones,) twice: fresh, recalled."""
    count = len(time.on)
    places = np.round(time.on * FINE).astype(np.int64)
    places -= places.min()
    kinds = np.unique(np.stack([time.pitch, np.round(2 * time.length)]), axis=1, return_inverse=True)[1].ravel()
    whole = int(places.max()) + 1
    keys = kinds * (4 * whole) + places + whole  # a place shifted by less than the whole never meets another kind
    order = np.argsort(keys, kind="stable")
    inside = [np.searchsorted(time.on, time.on - AROUND), np.searchsorted(time.on, time.on + AROUND, side="right")]
    others = np.maximum(1, inside[1] - inside[0] - 1)
    best, weights, own, told = np.zeros(count), np.full(count, SURE**2), np.zeros(count), np.zeros(count)
    for lag in _lags(keys[order], whole):
        for way in (lag, -lag):
            found = np.searchsorted(keys[order], keys + way).clip(0, count - 1)
            there = keys[order][found] == keys + way
            sums = np.concatenate([[0], np.cumsum(there)])
            share = (sums[inside[1]] - sums[inside[0]] - there) / others
            weight = share**SHARP
            best = np.maximum(best, share)
            weights += weight
            own += weight * there
            told += weight * np.where(there, odds[order[found]], 0)
    return best * (1 - own / weights), told / np.maximum(own, SURE**2) * np.minimum(1, own)


def _lags(keys: NDArray[np.int64], whole: int) -> list[int]:
    """Distances at which most notes come again, for the length that could; `keys` in order."""
    counts = np.zeros(whole)
    for step in range(1, min(NEXT, len(keys) - 1) + 1):
        apart = keys[step:] - keys[:-step]
        counts += np.bincount(apart[apart < whole], minlength=whole)
    counts[: int(NEAREST * FINE)] = 0
    often = counts / np.sqrt(np.maximum(NEAREST * FINE, whole - np.arange(whole)))
    return [int(lag) for lag in np.argsort(-often, kind="stable")[:PLACES] if counts[lag]]


def _spare(time: Clock) -> Numbers:
    """(tones,) as AGAIN says."""
    spare, sounds = np.zeros(len(time.on)), np.zeros(len(time.on))
    attacks, firsts = np.unique(time.on, return_index=True)
    held: list[int] = []
    for attack, first, after in zip(attacks, firsts, [*firsts[1:], len(time.on)], strict=True):
        held = sorted(
            [*(k for k in held if time.end[k] > attack + TOUCH), *range(first, after)], key=lambda k: time.pitch[k]
        )
        sounds[held] += 1
        pitches = time.pitch[held]
        if not _two_hands(pitches):
            spare[held] += [_two_hands(np.delete(pitches, place)) for place in range(len(held))]
    return spare / sounds


def _two_hands(pitches: Numbers) -> bool:
    """One hand from the lowest on, the other for the rest; `pitches` rising."""
    rest = pitches[pitches > pitches[0] + HAND]
    return not len(rest) or bool(rest[-1] - rest[0] <= HAND)
