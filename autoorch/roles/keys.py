"""The local key: what each chord and the pitch classes say for each key, and a dynamic program that is slow to modulate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any

import numpy as np
from numpy.typing import NDArray

from autoorch.roles.names import FIFTH, MODES, Key

Array = NDArray[np.float64]
KEYS: tuple[Key, ...] = tuple((tonic, mode) for mode in MODES for tonic in range(12))


def profiles(table: Mapping[str, Any]) -> Array:
    """(24, 12): each key's profile, mean zero, length one."""
    rows = np.array([np.roll(table[mode], tonic) for tonic, mode in KEYS], dtype=np.float64)
    rows -= rows.mean(axis=1, keepdims=True)
    rows /= np.linalg.norm(rows, axis=1, keepdims=True)
    return rows


def local_keys(
    weight: Array,
    use: Array,
    chords: Sequence[int],
    roots: Sequence[int],
    lengths: Array,
    far: Array,
    table: Mapping[str, float],
) -> list[Key]:
    """The key of each span.

    Args:
        weight: (spans, 12) weight of each class.
        use: (24, chords) how much a chord speaks for a key.
        chords: index of each span's chord.
        roots: root of each chord.
        lengths: of the spans, in beats.
        far: (spans, 24) fifths from each key to the signature; zeros where there is none.
        table: [key] of constraints/harmony.toml, with the profiles under "rows".
    """
    if not len(chords):
        return []
    share = weight / np.maximum(1e-9, weight.sum(axis=1, keepdims=True))
    fit = use[:, chords].T + table["profile"] * (share @ np.asarray(table["rows"]).T)
    fit[weight.sum(axis=1) == 0] = 0.0
    fit -= table["signature"] * far
    fit *= _said(chords, lengths, table["held"])[:, None]
    for k in range(1, len(chords)):
        before, here = chords[k - 1], chords[k]
        if before == here or (roots[before] - roots[here]) % 12 != FIFTH:
            continue
        for number, (tonic, _) in enumerate(KEYS):
            if roots[here] == tonic and min(use[number, here], use[number, before]) >= table["strong"]:
                fit[k, number] += table["resolves"]
    return [KEYS[k] for k in viterbi(fit, np.full(len(fit), table["change"]))]


def _said(chords: Sequence[int], lengths: Array, power: float) -> Array:
    """What each span counts: a chord that is held for `n` beats says as much as n ** (1 - power) chords of a beat."""
    found = np.zeros(len(chords))
    for _, run in groupby(range(len(chords)), key=chords.__getitem__):
        places = list(run)
        beats = lengths[places].sum()
        found[places] = lengths[places] * min(1.0, beats**-power)
    return found


def viterbi(fit: Array, change: Array) -> list[int]:
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


def prevailing(keys: Sequence[Key]) -> Key:
    """Of the keys quarter by quarter, that of the whole: the last one, where it is also the first; else the longest."""
    if not keys:
        return (0, "major")
    if keys[0] == keys[-1]:
        return keys[-1]
    return max(KEYS, key=lambda key: (keys.count(key), key == keys[-1]))
