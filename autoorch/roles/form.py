"""Form: phrases and sections of the same material get the same letter, with primes where it comes back varied.

Phrases have small letters, sections capitals. Sections are the best row of phrases by a dynamic program: they begin at marks,
after full closes, and where opening material comes back.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from math import log2
from string import ascii_lowercase

import numpy as np
from numpy.typing import NDArray

from autoorch.roles.cadences import Closes
from autoorch.roles.joints import best_joints
from autoorch.roles.material import Material
from autoorch.roles.model import Phrase
from autoorch.roles.parameters import Section
from autoorch.roles.phrases import Metre, closed
from autoorch.roles.texture import Texture

_SLACK = 1e-6


def labelled(
    texture: Texture, phrases: Sequence[Phrase], closes: Closes, material: Material, table: Section
) -> list[Phrase]:
    """The phrases with letters, sections and closes. `table` is [form] of constraints/reading.toml."""
    metre = Metre(texture)
    bars = [_bars(metre, phrase, material.row_of) for phrase in phrases]
    small = _letters(bars, material, table)
    cuts = _sections(texture, phrases, bars, small, closes, metre, table)
    groups = [range(a, b) for a, b in zip(cuts, [*cuts[1:], len(phrases)], strict=True)]
    capitals = _letters([(bars[g[0]][0], bars[g[-1]][1]) for g in groups], material, table)
    found = []
    for group, capital in zip(groups, capitals, strict=True):
        for k in group:
            close = closes.before(phrases[k].end)
            cadence = close.kind if close else ""
            found.append(replace(phrases[k], label=small[k], section=capital.upper(), cadence=cadence))
    return found


def _bars(metre: Metre, phrase: Phrase, row_of: Sequence[int]) -> tuple[int, int]:
    """(first row, row after the last) of the material; a phrase with an upbeat begins with the bar that it leads to."""
    first = row_of[_whole(metre, phrase.start)]
    last = row_of[-1] + 1 if phrase.end >= metre.texture.sketch.end else row_of[_whole(metre, phrase.end)]
    return first, max(first + 1, last)


def _whole(metre: Metre, tick: int) -> int:
    """Index of the bar that a place belongs to, or leads to."""
    here = metre.texture.sketch.bar_at(tick).index
    number = metre.number(tick) + metre.zero - _SLACK
    return next((k for k in range(here, len(metre.starts)) if metre.starts[k] >= number), len(metre.starts) - 1)


def _letters(spans: Sequence[tuple[int, int]], material: Material, table: Section) -> list[str]:
    """A letter for each run of bars, by its likeness to the first of each letter."""
    firsts: list[int] = []  # the run that brought each letter
    heard: list[int] = []  # letters, the one heard last at the end
    varied: list[int] = []  # times that it came back varied
    found = []
    for k, span in enumerate(spans):
        near = sorted(heard[-int(table["remembered"]) :])
        likeness = likenesses(material, [spans[firsts[n]] for n in near], span, table)
        best = int(np.argmax(likeness)) if near else 0
        if not near or likeness[best] < table["same"]:
            heard.append(len(firsts))
            firsts.append(k)
            varied.append(0)
            found.append(_letter(len(firsts) - 1))
            continue
        n = near[best]
        heard.remove(n)
        heard.append(n)
        if likeness[best] >= table["equal"]:
            found.append(_letter(n))
        else:
            varied[n] += 1
            found.append(_letter(n) + "'" * min(varied[n], int(table["primes"])))
    return found


def likenesses(
    material: Material, ones: Sequence[tuple[int, int]], other: tuple[int, int], table: Section
) -> NDArray[np.float64]:
    """(runs,) 0 to 1: how alike each of `ones` and `other` are, bar by bar from their beginnings; the beginnings count more.

    Bars that only one of them has count as unlike, but no more than `unmatched` of them. Another key takes a little away.
    """
    length = other[1] - other[0]
    counts = [min(one[1] - one[0], length) for one in ones]
    pairs = [(one[0] + k, other[0] + k) for one, count in zip(ones, counts, strict=True) for k in range(count)]
    rows = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    alike = material.alike(rows[:, 0], rows[:, 1])
    found, place = [], 0
    for one, count in zip(ones, counts, strict=True):
        row = alike[place : place + count]
        place += count
        opening = max(1, min(int(table["opening"]), count // 2))
        excess = min(max(one[1] - one[0], length) - count, table["unmatched"] * count)
        whole = row.sum() / (count + excess)
        mean = table["opening_share"] * row[:opening].sum() / opening + (1 - table["opening_share"]) * whole
        found.append(mean - (table["other_key"] if material.keys[one[0]] != material.keys[other[0]] else 0.0))
    return np.array(found)


def _sections(
    texture: Texture,
    phrases: Sequence[Phrase],
    bars: Sequence[tuple[int, int]],
    letters: Sequence[str],
    closes: Closes,
    metre: Metre,
    table: Section,
) -> list[int]:
    """Numbers of the phrases that begin a section."""
    plain = [letter.rstrip("'") for letter in letters]
    fresh = {letter: k for k, letter in reversed(list(enumerate(plain)))}
    marks: dict[int, set[str]] = {}
    for mark in texture.sketch.marks:
        if mark.kind == "rehearsal" or (mark.kind == "tempo" and mark.text):
            marks.setdefault(mark.onset, set()).add(mark.kind)
    gains = []
    for k, phrase in enumerate(phrases):
        gain = _opens(texture, phrase, marks, closes, metre, table)
        if plain[k] == plain[0]:
            gain += table["section_return"] * (1.0 if plain[k : k + 2] == plain[:2] else 0.5)
        elif fresh[plain[k]] == k:
            gain += table["section_new"]
        gains.append(gain)
    edges = [a for a, _ in bars] + [bars[-1][1]]

    def unusual(first: int, end: int) -> float:
        length = max(1, edges[end] - edges[first])
        if length > table["section_longest"] and first < end - 1:
            return float("inf")
        away = abs(log2(length / table["section"]))
        cost: float = table["section_unusual"] * max(0.0, away - table["section_free"])
        return cost

    return best_joints(gains, unusual)


def _opens(
    texture: Texture, phrase: Phrase, marks: Mapping[int, set[str]], closes: Closes, metre: Metre, table: Section
) -> float:
    """What the sketch's marks, metre, keys and closes say for a section to begin with the phrase."""
    sketch = texture.sketch
    here = sketch.bars[_whole(metre, phrase.start)]
    before = sketch.bars[max(0, here.index - 1)]
    near = marks.get(phrase.start, set()) | marks.get(here.onset, set())
    gain = -table["section_joint"]
    if closed(before, here):
        gain += table["section_mark"]
    if before.fifths != here.fifths or before.metre != here.metre:
        gain += table["section_turn"]
    if "rehearsal" in near:
        gain += table["section_mark"]
    if "tempo" in near:
        gain += table["section_turn"]
    close = closes.before(phrase.start)
    if close and close.kind == "authentic":
        gain += table["section_close"] * close.strength
    return gain


def _letter(number: int) -> str:
    """a to z, then a1 …"""
    turn, place = divmod(number, len(ascii_lowercase))
    return ascii_lowercase[place] + (str(turn) if turn else "")


def form_of(phrases: Sequence[Phrase]) -> str:
    """ "A A' B A''": the sections in order."""
    return " ".join(section for section, _ in groupby(p.section for p in phrases))
