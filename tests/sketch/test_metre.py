"""Beats and bars from evidence. The expectations are common practice: a waltz's basses stand on its bar lines, a march's on its
first and third beats, a jig's long notes on its dotted beats; a note tied over is no sign of a bar line (Lerdahl and Jackendoff,
A Generative Theory of Tonal Music, 1983, metrical preference rules 5 and 6)."""

from __future__ import annotations

import random

import numpy as np
import pytest

from autoorch.sketch.midi.evidence import FEATURES, Evidence
from autoorch.sketch.midi.metre import COSTS, PLACES, States, charges
from autoorch.sketch.midi.played import SCHEMA, find_beats
from autoorch.tables import load_tables

TABLE = load_tables().rule("beats", SCHEMA)
Tone = tuple[float, float, int]
"""Beat, length in beats, key."""


def heard(tones: list[Tone], beat: float, seed: int = 1) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The tones a second after the start, each 15 ms off at most."""
    draw = random.Random(seed)
    rows = sorted((1 + at * beat + draw.uniform(-0.015, 0.015), length * beat, key) for at, length, key in tones)
    onsets = np.array([onset for onset, _, _ in rows])
    return onsets, onsets + [length for _, length, _ in rows], np.array([key for _, _, key in rows])


def accompanied(beats: int, bars: int) -> list[Tone]:
    """A bass and chords after it, bar by bar on tonic and dominant; the tune has a long note in each bar."""
    tones: list[Tone] = []
    for bar in range(bars):
        first, root = beats * bar, (48, 43)[bar // 2 % 2]
        tones += [(first, 1, root), (first, beats - 1, root + 28), (first + beats - 1, 1, root + 31)]
        tones += [(first + k, 0.9, root + step) for k in range(1, beats) for step in (12, 16, 19)]
    return tones


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_waltz_has_its_bar_lines_on_its_basses(seed: int) -> None:
    grid = find_beats(*heard(accompanied(3, 16), 0.5, seed), TABLE)
    bars = grid.beats[[first for first, _ in grid.bars]]
    truth = 1 + 1.5 * np.arange(16)
    assert [count for _, count in grid.bars][1:-1] == [3] * (len(grid.bars) - 2)
    assert np.abs(bars[:, None] - truth[None, :]).min(axis=0).max() < 0.05


def test_a_pickup_is_no_bar() -> None:
    tones = [(0, 1, 67), *((at + 1, length, key) for at, length, key in accompanied(3, 16))]
    grid = find_beats(*heard(tones, 0.5), TABLE)
    assert grid.bars[0] == (0, 1) and {count for _, count in grid.bars[1:-1]} == {3}


def test_what_sounds_on_counts_as_held_and_silence_as_rest() -> None:
    """Pulses of a second: struck at 0 for two and a half, struck at 2, silent at 3, struck at 4."""
    onsets, ends = np.array([0.0, 2.0, 4.0]), np.array([2.5, 3.0, 5.0])
    seen = Evidence(np.arange(6.0), (onsets, ends, np.array([60, 64, 60])), False, TABLE["evidence"]).seen
    column = {name: seen[:, k] for k, name in enumerate(FEATURES)}
    assert column["held"][2] == 1.0  # half pulse 2 is second 1: only the note that was struck before
    assert column["held"][4] == 0.5  # one of the two that sound
    assert column["held"][8] == 0.0
    assert column["rest"].nonzero()[0].tolist() == [0, 8]


def test_a_new_harmony_is_new_where_it_changes() -> None:
    """C major for four seconds, then F sharp major."""
    onsets, keys = np.repeat(np.arange(8.0), 3), np.array([60, 64, 67] * 4 + [66, 70, 73] * 4)
    evidence = Evidence(np.arange(9.0), (onsets, onsets + 0.9, keys), False, TABLE["evidence"])
    novelty = evidence.novelty(np.array([2, 4]))
    assert novelty.shape == (17, 2)
    assert novelty[8].tolist() == [1.0, 1.0]
    assert novelty[4].tolist() == pytest.approx([0.0, 0.0], abs=1e-9)


def test_every_place_of_a_metre_has_its_kind() -> None:
    states = States(TABLE["metre"])
    of = {
        (int(states.beat[low]), int(states.beats[low])): [PLACES[k] for k in states.kind[low : high + 1]]
        for low, high in zip(states.starts, states.lasts, strict=True)
    }
    assert of[2, 3] == ["bar_3", "middle", "beat_2_of_3", "middle", "beat_3_of_3", "middle"]
    assert of[3, 2] == ["bar_2", "second_third", "last_third", "beat_2_of_2", "second_third", "last_third"]
    assert of[4, 4][::2] == [
        "bar_4",
        "middle",
        "beat_2_of_4",
        "middle",
        "beat_3_of_4",
        "middle",
        "beat_4_of_4",
        "middle",
    ]
    assert set(of[4, 4][1::2]) == {"between"}


def test_charges_are_all_named_and_fit_the_table() -> None:
    evidence = Evidence(np.arange(6.0), (np.array([0.0]), np.array([1.0]), np.array([60])), False, TABLE["evidence"])
    states = States(TABLE["metre"])
    found = charges(evidence, states, TABLE["metre"])
    assert tuple(found) == tuple(COSTS)
    for value in found.values():
        assert np.broadcast_shapes(value.shape, (11, len(states.kind))) == (11, len(states.kind))
    assert all(len(row) == len(PLACES) for row in TABLE["places"].values()) and TABLE["places"]
