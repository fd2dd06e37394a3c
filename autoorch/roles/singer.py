"""Signs of a singer, or of another player beside the piano: keys that sound twice at once, which one player can't do."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from autoorch.roles.features import Clock, Numbers

FAR = 24.0
"""Units on each side in which signs are counted."""
FEW = 0.05
"""Share of attacks added to both sides when shares of signs are compared."""
SIGNS = (
    "doubled",  # another tone has the same attack, end and pitch
    "outlasts",  # lasts longer than another of the same attack and pitch
    "outlasted",  # shorter than another
    "restruck",  # begins while another holds its pitch
    "held_over",  # holds its pitch while another strikes it
    "doubled_near",  # share of the attacks near with a doubled tone
    "doubled_often",  # doubled, times the piece's share of doubled tones
    "signs_near",  # share of the attacks near with any of these signs
    "signs_more",  # log2 of that share against the piece's
)


def twins(time: Clock) -> NDArray[np.bool_]:
    """(tones,) whether an earlier tone has the same attack, end and pitch: one of them is enough for a line."""
    _, firsts = np.unique(np.stack([time.on, time.end, time.pitch], axis=1), axis=0, return_index=True)
    found = np.ones(len(time.on), dtype=bool)
    found[firsts] = False
    return found


def signs(time: Clock) -> Numbers:
    """(tones, len(SIGNS)), in the order of the tones: by attack."""
    on, end, pitch = time.on, time.end, time.pitch
    doubled, outlasts, outlasted, restruck, held_over = np.zeros((5, len(on)))
    sounding: dict[float, list[int]] = {}
    for k, key in enumerate(pitch.tolist()):
        others = [j for j in sounding.get(key, ()) if end[j] > on[k]]
        for j in others:
            if on[j] < on[k]:
                restruck[k] = held_over[j] = 1
            elif end[j] == end[k]:
                doubled[[j, k]] = 1
            else:
                long, short = (j, k) if end[j] > end[k] else (k, j)
                outlasts[long] = outlasted[short] = 1
        sounding[key] = [*others, k]
    attacks, place = np.unique(on, return_inverse=True)
    low, high = np.searchsorted(attacks, on - FAR), np.searchsorted(attacks, on + FAR, side="right")

    def shares(found: Numbers) -> tuple[Numbers, float]:
        """Share of the attacks with a tone that was found, near each tone and in all."""
        there = np.zeros(len(attacks))
        there[place[found > 0]] = 1
        sums = np.concatenate([[0.0], np.cumsum(there)])
        return (sums[high] - sums[low]) / (high - low), float(there.mean())

    doubled_near, _ = shares(doubled)
    signs_near, signs_all = shares(np.maximum.reduce([doubled, outlasts, outlasted, restruck]))
    more = np.log2((signs_near + FEW) / (signs_all + FEW))
    often = doubled * doubled.mean()
    return np.stack([doubled, outlasts, outlasted, restruck, held_over, doubled_near, often, signs_near, more], axis=1)
