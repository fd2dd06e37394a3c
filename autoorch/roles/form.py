"""Form: phrases and sections of the same material get the same letter, with primes where it comes back varied.

Phrases have small letters, sections capitals. Sections are the best row of phrases by a dynamic program: they begin at marks,
after full closes, and where opening material comes back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby
from math import log2
from string import ascii_lowercase

import numpy as np
from numpy.typing import NDArray

from autoorch.roles.cadences import Closes
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
    varied: list[int] = []  # times that it came back varied
    found = []
    for k, span in enumerate(spans):
        likeness = likenesses(material, [spans[first] for first in firsts], span, table)
        n = int(np.argmax(likeness)) if firsts else 0
        if not firsts or likeness[n] < table["same"]:
            firsts.append(k)
            varied.append(0)
            found.append(_letter(len(firsts) - 1))
        elif likeness[n] >= table["equal"]:
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
    gains = [_opens(texture, phrases, letters, k, closes, metre, table) for k in range(len(phrases))]
    edges = [a for a, _ in bars] + [bars[-1][1]]
    best = [0.0] + [float("-inf")] * len(phrases)
    back = [0] * (len(phrases) + 1)
    for k in range(1, len(phrases) + 1):
        for j in range(k - 1, -1, -1):
            length = max(1, edges[k] - edges[j])
            away = abs(log2(length / table["section"]))
            value = (
                best[j] + (gains[j] if j else 0.0) - table["section_unusual"] * max(0.0, away - table["section_free"])
            )
            if value > best[k]:
                best[k], back[k] = value, j
    cuts = []
    k = len(phrases)
    while k > 0:
        k = back[k]
        cuts.append(k)
    return cuts[::-1]


def _opens(
    texture: Texture,
    phrases: Sequence[Phrase],
    letters: Sequence[str],
    k: int,
    closes: Closes,
    metre: Metre,
    table: Section,
) -> float:
    """What speaks for a section to begin with phrase `k`."""
    sketch = texture.sketch
    here = sketch.bars[_whole(metre, phrases[k].start)]
    before = sketch.bars[max(0, here.index - 1)]
    near = (phrases[k].start, here.onset)
    gain = -table["section_joint"]
    if closed(before, here):
        gain += table["section_mark"]
    if before.fifths != here.fifths or before.metre != here.metre:
        gain += table["section_turn"]
    if any(m.onset in near and m.kind == "rehearsal" for m in sketch.marks):
        gain += table["section_mark"]
    if any(m.onset in near and m.kind == "tempo" and m.text for m in sketch.marks):
        gain += table["section_turn"]
    close = closes.before(phrases[k].start)
    if close and close.kind == "authentic":
        gain += table["section_close"] * close.strength
    plain = [letter.rstrip("'") for letter in letters]
    if plain[k] == plain[0]:
        gain += table["section_return"] * (1.0 if plain[k : k + 2] == plain[:2] else 0.5)
    elif plain[k] not in plain[:k]:
        gain += table["section_new"]
    return gain


def _letter(number: int) -> str:
    """a to z, then a1 …"""
    turn, place = divmod(number, len(ascii_lowercase))
    return ascii_lowercase[place] + (str(turn) if turn else "")


def form_of(phrases: Sequence[Phrase]) -> str:
    """ "A A' B A''": the sections in order."""
    return " ".join(section for section, _ in groupby(p.section for p in phrases))
