"""The melody: the chain of notes, one after the other, that stands out most; found exactly by a dynamic program."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

import numpy as np

from autoorch.roles.features import NAMES, features, unit_of
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone


def best_chain(
    tones: Sequence[Tone], worth: Sequence[float], cost: Callable[[Tone, Tone], float], window: int
) -> list[Tone]:
    """The chain of tones that do not overlap with the greatest sum of worths less the costs from tone to tone.

    Args:
        tones: in order of onset.
        worth: by index of a tone; tones worth nothing are not taken.
        cost: of going from one tone to the next.
        window: ticks back from a tone in which the end of the one before may lie; beyond it the cost of the best chain
            so far is taken once and for all.
    """
    useful = [tone for tone in tones if worth[tone.index] > 0]
    by_end = sorted(range(len(useful)), key=lambda k: (useful[k].end, k))
    ends = [useful[k].end for k in by_end]
    total = [0.0] * len(useful)
    before = [-1] * len(useful)
    best_far, far, position = 0.0, -1, 0
    for k, tone in enumerate(useful):
        limit = tone.onset - window
        while position < len(ends) and ends[position] < limit:
            if total[by_end[position]] > best_far:
                best_far, far = total[by_end[position]], by_end[position]
            position += 1
        best, previous = best_far, far
        for place in range(position, len(ends)):
            if ends[place] > tone.onset:
                break
            j = by_end[place]
            if j >= k:
                continue
            value = total[j] - cost(useful[j], tone)
            if value > best:
                best, previous = value, j
        total[k], before[k] = best + worth[tone.index], previous
    if not useful:
        return []
    k = max(range(len(useful)), key=lambda j: (total[j], -j))
    chain = []
    while k >= 0:
        chain.append(useful[k])
        k = before[k]
    return chain[::-1]


def find_melody(texture: Texture, table: Section, weights: Section) -> list[Tone]:
    """The tune through the whole cue, not more than one note at a time."""
    if not texture.tones:
        return []
    unit = unit_of(texture)
    odds = features(texture, table["near"], table["join"]) @ np.array([weights[name] for name in NAMES])
    odds = np.clip(odds + weights["constant"], -table["most"], table["most"]) + table["bias"]

    def cost(a: Tone, b: Tone) -> float:
        leap = min(table["leap_most"], abs(a.pitch - b.pitch))
        return table["leap"] * leap + table["gap"] * min(table["gap_most"], (b.onset - a.end) / unit)

    return best_chain(texture.tones, odds.tolist(), cost, round(table["window"] * unit))


def crests(texture: Texture, tune: Sequence[Tone], figure: Section) -> list[Tone]:
    """The tune without the notes of arpeggios: where it runs in even leaps through two
    stretches or more, the highest note of each stretch stays."""
    kept: list[Tone] = []
    stretches: dict[int, list[Tone]] = {}
    for tone in tune:
        stretches.setdefault(int(texture.in_bars(tone.onset) / figure["crest"] + 1e-9), []).append(tone)
    runs = {place for place, tones in stretches.items() if broken(texture, tones, figure, figure["distinct_tune"])}
    for place, tones in stretches.items():
        if place in runs and not runs.isdisjoint((place - 1, place + 1)):
            kept.append(max(tones, key=lambda t: (t.pitch, -t.onset)))
        else:
            kept += tones
    return kept


def broken(texture: Texture, tones: Sequence[Tone], figure: Section, distinct: float) -> bool:
    """The tones run in short even steps and mostly in leaps, over few pitches that come again."""
    if len(tones) < figure["notes"] or len({t.pitch for t in tones}) > distinct * len(tones):
        return False
    steps = [b.onset - a.onset for a, b in itertools.pairwise(tones)]
    leaps = [abs(b.pitch - a.pitch) for a, b in itertools.pairwise(tones)]
    usual = max(set(steps), key=lambda s: (steps.count(s), -s))
    return (
        usual <= figure["unit"] * texture.beat_at(tones[0].onset)
        and steps.count(usual) >= figure["even"] * len(steps)
        and sum(leap >= figure["third"] for leap in leaps) >= figure["leaps"] * len(leaps)
    )
