"""The local key, beat by beat: profiles of pitch classes and a dynamic program that is slow to modulate.

Profiles: Temperley, The Cognition of Basic Musical Structures (2001), table 7.2 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

MAJOR = (5.0, 2.0, 3.5, 2.0, 4.5, 4.0, 2.0, 4.5, 2.0, 3.5, 1.5, 4.0)
MINOR = (5.0, 2.0, 3.5, 4.5, 2.0, 4.0, 2.0, 4.5, 3.5, 2.0, 1.5, 4.0)
Key = tuple[int, str]
KEYS: tuple[Key, ...] = tuple((tonic, mode) for mode in ("major", "minor") for tonic in range(12))


def profiles() -> NDArray[np.float64]:
    """(24, 12): each key's profile, mean zero, length one."""
    rows = [np.roll(MAJOR if mode == "major" else MINOR, tonic) for tonic, mode in KEYS]
    table = np.array(rows, dtype=np.float64)
    table -= table.mean(axis=1, keepdims=True)
    table /= np.linalg.norm(table, axis=1, keepdims=True)
    return table


def local_keys(weights: NDArray[np.float64], change: float) -> list[Key]:
    """The key of each beat.

    Args:
        weights: (beats, 12) weight of each pitch class.
        change: cost of a new key, in units of one beat's fit.
    """
    fit = weights @ profiles().T
    if not len(fit):
        return []
    return [KEYS[k] for k in viterbi(fit, np.full(len(fit), change))]


def viterbi(fit: NDArray[np.float64], change: NDArray[np.float64]) -> list[int]:
    """The row of states with the greatest sum of `fit` less `change[t]` for each change at step t; ties to the lower state."""
    total = fit[0].copy()
    back = np.zeros(fit.shape, dtype=np.int64)
    stay = np.arange(fit.shape[1])
    for step in range(1, len(fit)):
        best = int(np.argmax(total))
        moved = total[best] - change[step] > total
        back[step] = np.where(moved, best, stay)
        total = np.where(moved, total[best] - change[step], total) + fit[step]
    state = int(np.argmax(total))
    path = [state]
    for step in range(len(fit) - 1, 0, -1):
        state = int(back[step, state])
        path.append(state)
    return path[::-1]


def main_key(keys: Sequence[Key]) -> Key:
    """The key of the whole: the last one, where it is also the first; else the one that holds longest."""
    if not keys:
        return (0, "major")
    if keys[0] == keys[-1]:
        return keys[-1]
    return max(KEYS, key=lambda key: (keys.count(key), key == keys[-1]))
