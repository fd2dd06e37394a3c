"""How strong the tune is in each bar beside the strongest other strand near it, as the rule of balance counts a choice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from statistics import mean
from typing import Any

from autoorch.problem.data import Option, ProblemData
from autoorch.problem.draft import Choice
from autoorch.rules.balance import NAME, strength
from autoorch.solver.asked import options_of
from autoorch.write.page.grid import bars_between

UNIT = 10
"""Tenths in a woodwind's unit of strength."""


def balance(data: ProblemData, choices: Iterable[Choice]) -> list[dict[str, Any] | None]:
    """For each bar {"tune": strength, "other": strength, "role": of the other, "" for none}; None for a bar without a tune.

    Strengths are in units of a woodwind in an even register at the same dynamic. A strand is near whose mean pitch in the bar
    lies within `reach` semitones (constraints/balance.toml) of the tune's.
    """
    reach = data.tables.rule(NAME)["reach"]
    sounding: list[dict[int, dict[int, list[int]]]] = [defaultdict(lambda: defaultdict(list)) for _ in data.bars]
    for index in sorted(options_of(data, choices)):
        option = data.options[index]
        for bar, pitch in _heard(data, option):
            sounding[bar][data.spans[option.span].strand][index].append(pitch)
    return [_bar(data, strands, reach) for strands in sounding]


def _heard(data: ProblemData, option: Option) -> Iterator[tuple[int, int]]:
    """(index of a bar, sounding MIDI pitch) of each note in each bar in which it sounds."""
    for profile in data.profiles(option):
        for note in profile.notes:
            if note.duration:
                first, last = bars_between(data.bars, note.onset, note.end)
                for bar in range(first, last + 1):
                    yield bar, note.pitch.midi + 12 * option.octave


def _bar(data: ProblemData, strands: dict[int, dict[int, list[int]]], reach: int) -> dict[str, Any] | None:
    """`strands`: strand -> option -> sounding pitches."""
    tunes = [strand for strand in strands if data.strands[strand].role == "melody"]
    if not tunes:
        return None
    height = mean(pitch for strand in tunes for own in strands[strand].values() for pitch in own)
    others = [
        (_strength(data, options), data.strands[strand].role)
        for strand, options in strands.items()
        if strand not in tunes and abs(mean(p for own in options.values() for p in own) - height) <= reach
    ]
    other, role = max(others, default=(0.0, ""))
    return {"tune": max(_strength(data, strands[strand]) for strand in tunes), "other": other, "role": role}


def _strength(data: ProblemData, options: Iterable[int]) -> float:
    chosen = [data.options[index] for index in options]
    return sum(strength(data, option) * len(option.lines) for option in chosen) / UNIT
