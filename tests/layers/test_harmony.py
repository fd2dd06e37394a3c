"""Held chords: exact voice leading, thirds present, leading notes not doubled (four-part writing, common practice)."""

from __future__ import annotations

from itertools import pairwise, product

from autoorch.layers.harmony import lead, own_cost, voicings
from autoorch.roles.model import Chord
from autoorch.tables import load_tables

TONIC = Chord(0, 4, 0, 4, 0, (0, 4, 7))
FOURTH = Chord(4, 8, 5, 9, 5, (5, 9, 0))
SEVENTH = Chord(8, 12, 7, 11, 7, (7, 11, 2, 5), (11, 5))
WEIGHTS = load_tables().rule("voicing")["weights"]
LOW, HIGH = 50, 66


def cost(row: list[tuple[int, ...]], chords: list[Chord]) -> int:
    own = sum(own_cost(WEIGHTS, chord, v, LOW, HIGH) for chord, v in zip(chords, row, strict=True))
    return own + sum(WEIGHTS["move"] * abs(a - b) for v, w in pairwise(row) for a, b in zip(v, w, strict=True))


def test_the_row_is_the_cheapest_of_all() -> None:
    chords = [TONIC, FOURTH, SEVENTH]
    row = lead(WEIGHTS, chords, 3, LOW, HIGH)
    every = product(*(voicings(chord, 3, LOW, HIGH) for chord in chords))
    assert cost(row, chords) == min(cost(list(other), chords) for other in every)


def test_thirds_are_there_and_leading_notes_single() -> None:
    row = lead(WEIGHTS, [TONIC, FOURTH, SEVENTH, TONIC], 4, LOW, 72)
    for chord, voicing in zip([TONIC, FOURTH, SEVENTH, TONIC], row, strict=True):
        degrees = [m % 12 for m in voicing]
        assert chord.third in degrees
        assert all(degrees.count(t) <= 1 for t in chord.tendency)
