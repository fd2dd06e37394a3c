"""Chains of notes, one after the other, that a line may take: how likely each note is in the line (the forward-backward
algorithm on a conditional random field; Lafferty, McCallum and Pereira, 2001) and the chain of the likeliest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from autoorch.roles.features import Clock, Indices, Numbers

BACK = 24.0
"""Units back in which the note before is looked for; beyond them the line starts afresh."""
REACH = 32.0
"""Units before an attack from which notes are still looked at."""
MOST = 40
"""Notes before that are looked at, the last to end first."""
OVERLAP = 0.5
"""Units by which a note of a played line (velocities differ) may last into the next."""

ROUNDS = 12
"""Times that a limit is set anew at most,"""
TINY = 1e-3
"""until it moves by less."""

STEPS = (
    "repeated",  # interval from note to note: none,
    "second",  # a step,
    "third",
    "fourth_fifth",
    "sixth_seventh",
    "octave",
    "wider",
    "rest",  # silence between them
    "silence",  # its length, log2(1 + units)
    "overlap",  # the first lasts into the second
    "skipped",  # attacks passed over between them, at most 6, in threes
    "same_length",
    "leap_over_rest",  # octaves of the interval where there is silence
    "velocity",  # difference of velocity, at most 32, in sixteens
    "same_velocity",  # a difference, but not above 6
    "long_rest",  # more than 6 units of silence
    "joined_step",  # a step or repetition without silence
)


@dataclass(frozen=True)
class Links:
    """Which note may follow which.

    Attributes:
        first, second: of each link, places among the notes; in order of `second`.
        starts: of each note the first of its links as `second`, and the end of all.
        looks: (links, len(STEPS)).
        order: notes by their end; gone: of each note how many of them lie so far back that the line starts afresh;
            fresh: of each note the first note that lies so far ahead.
    """

    first: Indices
    second: Indices
    starts: Indices
    looks: Numbers
    order: Indices
    gone: Indices
    fresh: Indices


def links(time: Clock, kept: Indices) -> Links:
    """All links among the notes that are kept, given by their indices in order of attack."""
    on, end, pitch, loud, length = (a[kept] for a in (time.on, time.end, time.pitch, time.loud, time.length))
    count = len(kept)
    overlap = OVERLAP if len(set(loud)) > 1 else 0.0
    firsts, seconds = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    low, high = np.searchsorted(on, on - REACH), np.searchsorted(on, on - 1e-6)
    for j in range(count):
        before = np.arange(low[j], high[j])
        before = before[(end[before] <= on[j] + overlap + 1e-9) & (end[before] >= on[j] - BACK)]
        if len(before) > MOST:
            before = before[np.argsort(-end[before], kind="stable")[:MOST]]
        firsts.append(before)
        seconds.append(np.full(len(before), j))
    first, second = np.concatenate(firsts), np.concatenate(seconds)
    interval, gap = np.abs(pitch[second] - pitch[first]), on[second] - end[first]
    attacks = np.unique(on)
    passed = np.searchsorted(attacks, on[second] - 1e-6) - np.searchsorted(attacks, end[first] - 0.1)
    change = np.abs(loud[second] - loud[first])
    order = np.argsort(end, kind="stable")
    looks = [
        interval == 0,
        (interval >= 1) & (interval <= 2),
        (interval >= 3) & (interval <= 4),
        (interval >= 5) & (interval <= 7),
        (interval >= 8) & (interval <= 11),
        interval == 12,
        interval > 12,
        gap > 0.25,
        np.log2(1 + np.maximum(0, gap)),
        gap < -0.1,
        np.clip(passed, 0, 6) / 3,
        np.abs(length[second] - length[first]) < 0.2,
        (gap > 0.25) * interval / 12,
        np.minimum(change, 32) / 16,
        (change > 0) & (change <= 6),
        gap > 6,
        (np.abs(gap - 0.075) <= 0.175) & (interval <= 2),
    ]
    return Links(
        first,
        second,
        np.searchsorted(second, np.arange(count + 1)),
        np.stack([np.asarray(look, dtype=float) for look in looks], axis=1),
        order,
        np.searchsorted(end[order], on - BACK - 1e-9),
        np.searchsorted(on, end + BACK, side="right"),
    )


def likely(ways: Links, worth: Numbers, step: Numbers, start: float) -> tuple[float, Numbers, Numbers, float]:
    """How likely notes, links and fresh starts are, over all chains.

    Args:
        ways: the links among the notes.
        worth: log-odds of each note; `step`: of each link; `start`: of starting afresh.

    Returns:
        log of the sum over all chains; probability of each note; of each link; expected number of fresh starts.
    """
    count = len(worth)
    forth, far = np.zeros(count), np.zeros(count + 1)
    done = 0
    for j in range(count):
        while done < ways.gone[j]:
            far[done + 1] = np.logaddexp(far[done], forth[ways.order[done]])
            done += 1
        own = slice(ways.starts[j], ways.starts[j + 1])
        forth[j] = worth[j] + _total(forth[ways.first[own]] + step[own], far[ways.gone[j]] + start)
    whole = _total(forth, 0.0)
    by_first = np.argsort(ways.first, kind="stable")
    firsts = np.searchsorted(ways.first[by_first], np.arange(count + 1))
    back, ahead = np.zeros(count), np.full(count + 1, -np.inf)
    for i in range(count - 1, -1, -1):
        own_links = by_first[firsts[i] : firsts[i + 1]]
        then = ways.second[own_links]
        back[i] = _total(step[own_links] + worth[then] + back[then], np.logaddexp(0.0, ahead[ways.fresh[i]]))
        ahead[i] = np.logaddexp(ahead[i + 1], worth[i] + back[i] + start)
    along = forth[ways.first] + step + (worth + back)[ways.second]
    fresh = np.exp(far[ways.gone] + start + worth + back - whole).sum()
    return whole, np.exp(forth + back - whole), np.exp(along - whole), float(fresh)


def _total(values: Numbers, other: float) -> float:
    """log(sum(exp(values)) + exp(other))"""
    most = max(other, float(values.max())) if len(values) else other
    return float(most + np.log(np.exp(values - most).sum() + np.exp(other - most)))


def best(ways: Links, worth: Numbers) -> list[int]:
    """The chain with the greatest sum of worths; notes worth nothing are passed over."""
    total, before = np.zeros(len(worth)), np.full(len(worth), -1)
    far, far_note = 0.0, -1
    done = 0
    for j in range(len(worth)):
        while done < ways.gone[j]:
            k = int(ways.order[done])
            if total[k] > far:
                far, far_note = float(total[k]), k
            done += 1
        own = slice(ways.starts[j], ways.starts[j + 1])
        values = total[ways.first[own]]
        total[j], before[j] = far + worth[j], far_note
        if len(values) and values.max() > far:
            k = int(values.argmax())
            total[j], before[j] = values[k] + worth[j], ways.first[own][k]
    if not len(worth) or total.max() <= 0:
        return []
    place = int(total.argmax())
    chain: list[int] = []
    while place >= 0:
        if worth[place] > 0:
            chain.append(place)
        place = int(before[place])
    return chain[::-1]


def best_expected(ways: Links, chance: Numbers, most: float) -> list[int]:
    """The chain with the greatest expected F1, or with more notes than that one.

    Args:
        ways: the links among the notes.
        chance: how likely each note is in the line.
        most: likelihood above which a note is never passed over as unlikely; half the F1 that can be expected is the limit that
            makes the F1 greatest (Dinkelbach, 1967; Lipton, Elkan and Narayanaswamy, 2014, from memory).
    """
    least = min(most, float(chance.max(initial=0.0)) / 2)
    chain: list[int] = []
    for _ in range(ROUNDS):
        chain = best(ways, chance - least)
        half = float(chance[chain].sum()) / (len(chain) + float(chance.sum()) + TINY)
        if abs(min(most, half) - least) < TINY:
            break
        least = min(most, half)
    return chain
