"""Phrases: joints where the tune breathes, chosen by a dynamic program over all lengths that are usual.

The strength of a joint follows the local boundary detection of Cambouropoulos (2001): rests and long notes against
their neighbours; slurs, bar lines and the sketch's own marks add to it.
"""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections.abc import Sequence
from math import log2

from autoorch.roles.model import Phrase
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone


def joints(texture: Texture, tune: Sequence[Tone], table: Section) -> dict[int, float]:
    """Tick -> strength of a phrase joint there: bar lines, and attacks of the tune."""
    sketch = texture.sketch
    strength = {bar.onset: table["barline"] for bar in sketch.bars}
    slurred = {slur.last for slur in sketch.slurs} - {slur.first for slur in sketch.slurs}
    for before, tone in itertools.pairwise(tune):
        beat = texture.beat_at(tone.onset)
        value = strength.get(tone.onset, 0.0)
        value += table["rest"] * min(2.0, max(0, tone.onset - before.end) / beat)
        step = tone.onset - before.onset
        value += table["long"] * min(2.0, max(0.0, step / beat - 1))
        if before.id in slurred:
            value += table["slur"]
        if "fermata" in sketch.by_id[before.id].marks:
            value += table["mark"]
        strength[tone.onset] = value
    for before_bar, bar in zip(sketch.bars, sketch.bars[1:], strict=False):
        if before_bar.barline in ("double", "final") or before_bar.repeat_end or bar.repeat_start or before_bar.fermata:
            strength[bar.onset] += table["mark"]
    for mark in sketch.marks:
        if mark.kind == "rehearsal" and mark.onset in strength:
            strength[mark.onset] += table["mark"]
    ends = sorted((t.onset, t.end) for t in tune)
    starts = [onset for onset, _ in ends]
    for tick in strength:
        k = bisect_right(starts, tick - 1) - 1
        if k >= 0 and ends[k][1] > tick:
            strength[tick] += table["inside"]
    return strength


def find_phrases(texture: Texture, tune: Sequence[Tone], table: Section, dynamic: str) -> list[Phrase]:
    """Phrases from the first tick to the last, without gaps, none longer than `longest` bars."""
    strength = joints(texture, tune, table)
    end = texture.sketch.end
    ticks = sorted({0, *(tick for tick in strength if 0 < tick < end), end})
    place = [texture.in_bars(tick) for tick in ticks[:-1]] + [float(len(texture.sketch.bars))]
    best = [0.0] + [float("-inf")] * (len(ticks) - 1)
    back = [0] * len(ticks)
    for k in range(1, len(ticks)):
        gain = strength.get(ticks[k], 0.0) if k < len(ticks) - 1 else 0.0
        for j in range(k - 1, -1, -1):
            length = place[k] - place[j]
            if length > table["longest"] + 1e-6 and j < k - 1:
                break
            value = best[j] + gain - table["unusual"] * abs(log2(max(1e-3, length) / table["usual"])) ** 2
            if length < table["shortest"] - 1e-6:
                value -= table["mark"] + table["rest"]
            if value > best[k]:
                best[k], back[k] = value, j
    k = len(ticks) - 1
    cuts = [end]
    while k > 0:
        k = back[k]
        cuts.append(ticks[k])
    cuts.reverse()
    return [Phrase(a, b, dynamic=dynamic) for a, b in itertools.pairwise(cuts)]
