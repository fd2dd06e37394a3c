"""Where a row of phrases is best cut into runs: a dynamic program over all lengths of the last run."""

from __future__ import annotations

from collections.abc import Callable, Sequence


def best_joints(gains: Sequence[float], unusual: Callable[[int, int], float], *, long_last: bool = False) -> list[int]:
    """The numbers that begin a run, 0 first, of the row of runs with the largest sum.

    Args:
        gains: what a run gains that begins with each phrase (the first one's doesn't count).
        unusual: (first of a run, first behind it) -> what its length costs; infinite where it can't be.
        long_last: of equal rows the one whose last runs are long; else short.
    """
    count = len(gains)
    best = [0.0] + [float("-inf")] * count
    start = [0] * (count + 1)
    for k in range(1, count + 1):
        for j in range(k) if long_last else reversed(range(k)):
            value = best[j] + (gains[j] if j else 0.0) - unusual(j, k)
            if value > best[k]:
                best[k], start[k] = value, j
    found, k = [], count
    while k > 0:
        k = start[k]
        found.append(k)
    return found[::-1]
