"""Pulses of played takes. What to expect is arithmetic: the beats that the attacks were made from."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import numpy as np
import pytest

from autoorch.sketch.midi.played import SCHEMA
from autoorch.sketch.midi.pulse import find_pulses
from autoorch.tables import load_tables

TABLE = load_tables().rule("beats", SCHEMA)["pulse"]


def attacks(count: int, period: float, drift: float, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Beats whose tempo swings by a share over 24 beats, and attacks on most of them and on half the middles, 20 ms about."""
    draw = random.Random(seed)
    steps = [period * (1 + drift * math.sin(k * math.tau / 24)) for k in range(count)]
    beats = np.cumsum([1.0, *steps])
    places = [at for at in beats if draw.random() < 0.9]
    places += [(a + b) / 2 for a, b in pairwise(beats) if draw.random() < 0.5]
    return beats, np.sort([at + draw.uniform(-0.02, 0.02) for at in places])


@pytest.mark.parametrize(("period", "drift"), [(0.4, 0.0), (0.52, 0.12), (0.7, 0.15)])
def test_the_beats_are_among_the_pulses_though_the_tempo_swings(period: float, drift: float) -> None:
    beats, onsets = attacks(96, period, drift, 5)
    pulses = find_pulses(onsets, onsets + 0.3, TABLE)
    hits = [sum(np.abs(pulse.moments - at).min() < 0.05 for at in beats) for pulse in pulses]
    fits = [hit for hit, pulse in zip(hits, pulses, strict=True) if abs(pulse.period / period - 1) < 0.1]
    assert max(fits) > 0.95 * len(beats)


def test_the_best_pulse_comes_first_and_none_comes_twice() -> None:
    _, onsets = attacks(96, 0.5, 0.1, 6)
    pulses = find_pulses(onsets, onsets + 0.3, TABLE)
    worths, periods = [pulse.worth for pulse in pulses], sorted(pulse.period for pulse in pulses)
    assert 1 < len(pulses) <= TABLE["kept"]
    assert worths == sorted(worths, reverse=True)
    assert np.diff(np.log2(periods)).min() > TABLE["alike"] - 0.02  # moved to the attacks since


def test_attacks_without_any_pulse_are_worth_less() -> None:
    _, onsets = attacks(96, 0.5, 0.0, 7)
    draw = random.Random(8)
    stray = np.sort([draw.uniform(onsets[0], onsets[-1]) for _ in onsets])
    steady, random_ = (find_pulses(each, each + 0.3, TABLE)[0].worth for each in (onsets, stray))
    assert steady > 2 * random_
