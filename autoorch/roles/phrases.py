"""Phrases: the best row of joints by a dynamic program over all lengths, with the length before as its memory.

What speaks for a joint: the tune's rests and long notes (after Cambouropoulos, The Local Boundary Detection Model, 2001), slurs,
the sketch's marks, a cadence, a change of the whole texture, material that begins again. Four and eight bars are the usual
lengths, and equal lengths follow each other (common practice).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise
from math import floor, log2

from autoorch.roles.cadences import Closes
from autoorch.roles.material import Material, full_length
from autoorch.roles.model import Phrase
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone
from autoorch.sketch.model import Bar

LONGEST = 8
_NEAR = 6
"""Attacks on each side that a long note is compared with."""


class Metre:
    """Places counted in whole bars of the metre from the first full bar.

    Pickups and split bars count as parts; a second ending stands where the first one stands.
    """

    def __init__(self, texture: Texture) -> None:
        sketch = texture.sketch
        self.texture = texture
        self.starts: list[float] = []
        now = ending = 0.0
        for before, bar in zip((None, *sketch.bars), sketch.bars, strict=False):
            if bar.endings and not (before and before.endings):
                ending = now
            elif before and before.endings and bar.endings and bar.endings != before.endings:
                now = ending
            self.starts.append(now)
            now += bar.length / full_length(sketch, bar)
        first = sketch.bars[0]
        pickup = first.length / full_length(sketch, first)
        self.zero = pickup if pickup < 1 and len(sketch.bars) > 1 else 0.0

    def at(self, tick: int) -> float:
        """Bars from the first full bar; the end of the sketch lies behind its last bar."""
        bar = self.texture.sketch.bar_at(tick)
        return self.starts[bar.index] + (tick - bar.onset) / full_length(self.texture.sketch, bar) - self.zero

    def number(self, tick: int) -> int:
        """The bar line that a phrase beginning at `tick` belongs to: an upbeat goes with the bar it leads to."""
        return floor(self.at(tick) + 0.5)


def joints(
    texture: Texture, tune: Sequence[Tone], closes: Closes, material: Material, metre: Metre, table: Section
) -> dict[int, float]:
    """Tick -> strength of a phrase joint there: bar lines, and attacks of the tune inside bars."""
    sketch = texture.sketch
    strength = {bar.onset: table["barline"] for bar in sketch.bars}
    first_of = {slur.first for slur in sketch.slurs}
    last_of = {slur.last for slur in sketch.slurs} - first_of
    steps = [b.onset - a.onset for a, b in pairwise(tune)]
    onsets = [tone.onset for tone in tune]
    for k, (before, tone) in enumerate(pairwise(tune)):
        beat = texture.beat_at(tone.onset)
        value = table["rest"] * min(2.0, max(0, tone.onset - before.end) / beat)
        around = steps[max(0, k - _NEAR) : k] + steps[k + 1 : k + 1 + _NEAR]
        if around and steps[k]:
            value += table["long"] * min(2.0, max(0.0, log2(steps[k] * len(around) / max(1, sum(around)))))
        if before.id in last_of:
            value += table["slur"]
        if tone.id in first_of:
            value += table["slur_begins"]
        if "fermata" in sketch.by_id[before.id].marks:
            value += table["fermata"]
        line = sketch.bar_at(tone.onset).onset
        # a tune that only rests on the bar line begins there: what accompanies it does
        late = (
            before.end <= line < tone.onset
            and line in texture.attacks
            and metre.number(tone.onset) == metre.number(line)
        )
        place = line if late else tone.onset
        if value > 0 or place in strength:
            strength[place] = strength.get(place, 0.0) + value
    _add_marks(texture, strength, table)
    fresh, parallel = material.fresh(), material.parallels(int(table["farthest"]))
    for bar in sketch.bars:
        strength[bar.onset] += table["texture"] * float(fresh[material.row_of[bar.index]])
    by_number = {metre.number(bar.onset): float(parallel[material.row_of[bar.index]]) for bar in reversed(sketch.bars)}
    for tick in strength:
        close = closes.before(tick)
        strength[tick] += table["cadence"] * close.strength if close else 0.0
        strength[tick] += table["parallel"] * by_number.get(metre.number(tick), 0.0)
        i = bisect_right(onsets, tick - 1) - 1
        if i >= 0 and tune[i].end > tick:
            strength[tick] += table["inside"]
    return strength


def closed(before: Bar, bar: Bar) -> bool:
    """A double bar or a repeat between two bars; not from a first ending to a second one, but after the last one."""
    if bar.endings:
        return False
    return bool(before.barline in ("double", "final") or before.repeat_end or bar.repeat_start or before.endings)


def _add_marks(texture: Texture, strength: dict[int, float], table: Section) -> None:
    """Double bars, repeats, fermatas, rehearsal marks; new keys, metres and tempi in words; dynamics and words."""
    sketch = texture.sketch
    marked: dict[int, float] = {}
    for before, bar in pairwise(sketch.bars):
        if (before.fifths, before.metre) != (bar.fifths, bar.metre):
            marked[bar.onset] = table["turn"]
        if closed(before, bar) or before.fermata:
            marked[bar.onset] = table["mark"]
    for mark in sketch.marks:
        worth = table["sign"] if mark.kind in ("dynamic", "words") else 0.0
        worth = table["turn"] if mark.kind == "tempo" and mark.text else worth
        worth = table["mark"] if mark.kind == "rehearsal" else worth
        marked[mark.onset] = max(worth, marked.get(mark.onset, 0.0))
    ticks = sorted(strength)
    for onset, worth in marked.items():
        # an upbeat comes before the mark that stands on its bar line
        reach = texture.beat_at(onset) if worth < table["turn"] else full_length(sketch, sketch.bar_at(onset)) // 2
        for k in range(bisect_right(ticks, onset) - 1, -1, -1):
            if ticks[k] < onset - reach:
                break
            strength[ticks[k]] += worth


def candidates(strength: dict[int, float], metre: Metre) -> list[int]:
    """The places a joint may stand, in order: of each bar line the line itself and the strongest place that leads to it."""
    lines: dict[int, list[int]] = {}
    for tick in sorted(strength):
        lines.setdefault(metre.number(tick), []).append(tick)
    found = []
    for ticks in lines.values():
        on_line = min(ticks, key=lambda t: (abs(metre.at(t) - metre.number(t)), t))
        best = max(ticks, key=lambda t: (strength[t], -t))
        found += sorted({on_line, best})
    return found


def _prices(bars: int, table: Section) -> list[float]:
    """Cost of a phrase of 1, 2 … LONGEST bars, each of which counts as so many `bars`."""
    found = []
    for count in range(bars, bars * LONGEST + 1, bars):
        longer = max(0, count - LONGEST)
        found.append(table[f"bars_{min(count, LONGEST)}"] + table["longer"] * longer)
    return found


def find_phrases(
    texture: Texture, tune: Sequence[Tone], closes: Closes, material: Material, table: Section
) -> list[Phrase]:
    """Phrases from the first tick to the last, without gaps, none longer than eight bars where a bar line can cut it.

    In hymn style (chords struck together, a new one on nearly every beat) a bar counts as two.
    """
    metre = Metre(texture)
    strength = joints(texture, tune, closes, material, metre, table)
    end = texture.sketch.end
    ticks = [0, *(tick for tick in candidates(strength, metre) if 0 < tick < end), end]
    place = [metre.at(tick) for tick in ticks[:-1]] + [
        metre.at(end - 1) + 1 / full_length(texture.sketch, texture.sketch.bars[-1])
    ]
    number = [floor(at + 0.5) for at in place]
    beats = [len(tones) for tick, tones in texture.attacks.items() if texture.on_beat(tick)]
    chordal = sum(count >= table["hymn_notes"] for count in beats) >= table["hymn_share"] * max(1, len(beats))
    hymn = chordal and len(closes.runs) >= table["hymn_chords"] * max(1.0, place[-1])
    price = _prices(2 if hymn else 1, table)
    best: list[dict[int, tuple[float, int]]] = [{0: (0.0, 0)}]
    for k in range(1, len(ticks)):
        gain = strength[ticks[k]] - table["joint"] if k < len(ticks) - 1 else 0.0
        row: dict[int, tuple[float, int]] = {}
        for j in range(k - 1, -1, -1):
            if place[k] - place[j] > LONGEST + 1e-6 and j < k - 1:
                break
            length = number[k] - number[j]
            worth = gain - (price[min(length, LONGEST) - 1] if length > 0 else table["bars_1"] + table["mark"])
            value, back = max(
                (
                    (before + (table["regular"] if j and number[j] - number[i] == length else 0.0), -i)
                    for i, (before, _) in best[j].items()
                ),
            )
            row[j] = value + worth, -back
        best.append(row)
    cuts = [end]
    k, j = len(ticks) - 1, max(best[-1], key=lambda j: (best[-1][j][0], j))
    while k > 0:
        cuts.append(ticks[j])
        k, j = j, best[k][j][1]
    cuts.reverse()
    return [Phrase(a, b) for a, b in pairwise(cuts)]
