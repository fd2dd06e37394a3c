"""Sections: runs of whole phrases that keep one scoring."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import pairwise
from math import log2
from typing import Any

from autoorch.instruments import DYNAMICS
from autoorch.roles.joints import best_joints
from autoorch.roles.model import Reading

SHORTEST = 0.1
"""Bars that the shortest phrase counts, so that its length has a logarithm."""


def letter(label: str) -> str:
    """The material of a label without its primes."""
    return label.rstrip("'")


def restated(reading: Reading) -> list[int | None]:
    """For each phrase the last earlier one that has the same material, or None."""
    last: dict[str, int] = {}
    found: list[int | None] = []
    for index, phrase in enumerate(reading.phrases):
        name = letter(phrase.label)
        found.append(last.get(name) if name else None)
        last[name] = index
    return found


def answered(reading: Reading, in_bars: Callable[[int], float], table: Mapping[str, Any]) -> list[int | None]:
    """For each phrase the one right before it that it could answer, or None: it says that again, or closes what that has left
    open; neither is long, none answers an answer.

    Args:
        in_bars: ticks from the start -> bars.
        table: [answer] of constraints/plan.toml.
    """
    found: list[int | None] = [None] * len(reading.phrases)
    for k, (before, phrase) in enumerate(pairwise(reading.phrases), 1):
        lengths = [in_bars(one.end) - in_bars(one.start) for one in (before, phrase)]
        again = letter(phrase.label) == letter(before.label) != ""
        closes = before.cadence in table["open"] and phrase.cadence in table["closed"]
        short = max(lengths) <= table["most_bars"] and max(lengths) - min(lengths) <= table["uneven_bars"]
        if found[k - 1] is None and short and (again or closes):
            found[k] = k - 1
    return found


def find_sections(reading: Reading, peak: int, in_bars: Callable[[int], float], table: Mapping[str, Any]) -> list[int]:
    """Number of the section of each phrase, from 0.

    Args:
        peak: index of the peak's phrase, which begins a section.
        in_bars: ticks from the start -> bars.
        table: [section] of constraints/plan.toml.
    """
    phrases = reading.phrases
    gains = [0.0] * len(phrases)
    back = restated(reading)
    cadences = {moment.onset for moment in reading.moments if moment.kind == "cadence"}
    for k in range(1, len(phrases)):
        before, phrase = phrases[k - 1], phrases[k]
        jump = abs(DYNAMICS.index(phrase.dynamic) - DYNAMICS.index(before.dynamic))
        gains[k] += table["dynamic"] * (jump >= table["sudden"])
        gains[k] += table["fresh"] * (back[k] is not None or k == peak)
        gains[k] += table["cadence"] * any(before.start <= onset < before.end for onset in cadences)
    ends = [in_bars(phrase.start) for phrase in phrases] + [in_bars(phrases[-1].end)] if phrases else [0.0]

    def unusual(first: int, end: int) -> float:
        away: float = log2(max(SHORTEST, ends[end] - ends[first]) / table["usual"])
        weight: float = table["unusual"]
        return weight * away**2

    cuts = best_joints(gains, unusual, long_last=True)
    return [sum(1 for cut in cuts if cut <= index) - 1 for index in range(len(phrases))]
