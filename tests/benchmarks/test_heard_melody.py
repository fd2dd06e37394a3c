"""The measure of a tune's loudness says what the ear would: more players and louder marks are heard more."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from tests.benchmarks.heard_melody import Voice, levels, rendered, stems

OBOE, STRINGS = 69, 49
SECONDS = 2.0


def held(program: int, pitch: int, velocity: int) -> Voice:
    return Voice(program, ((0.0, SECONDS, pitch, velocity),))


def middle(lead: list[Voice], rest: list[Voice]) -> float:
    return float(np.median(levels(lead, rest, SECONDS)))


def test_a_louder_tune_and_softer_others_are_heard_more() -> None:
    plain = middle([held(OBOE, 72, 70)], [held(STRINGS, 67, 70)])
    assert middle([held(OBOE, 72, 108)], [held(STRINGS, 67, 70)]) > plain + 1
    assert middle([held(OBOE, 72, 70)], [held(STRINGS, 67, 32)]) > plain + 1
    assert middle([held(OBOE, 72, 70)], [held(STRINGS, 67, 70)] * 4) < plain - 1


def test_only_the_tunes_own_band_counts() -> None:
    near = middle([held(OBOE, 84, 70)], [held(STRINGS, 79, 90)])
    assert middle([held(OBOE, 84, 70)], [held(STRINGS, 36, 90)]) > near + 6


def test_twenty_parts_are_rendered_in_groups_and_added() -> None:
    one, rate = rendered([held(OBOE, 72, 70)], SECONDS)
    many, _ = rendered([held(OBOE, 72, 70)] * 20, SECONDS)
    assert len(one) == len(many) == round(SECONDS * rate)
    assert np.sqrt(np.mean(many**2)) == pytest.approx(20 * np.sqrt(np.mean(one**2)), rel=0.35)


def test_a_doubling_in_another_octave_belongs_to_the_tune() -> None:
    tune = {(Fraction(0), Fraction(2), 0)}
    same, other = (Fraction(0), Fraction(2), 0), (Fraction(0), Fraction(1), 0)
    parts = [(held(OBOE, 72, 70), [same]), (held(STRINGS, 60, 70), [same]), (held(STRINGS, 48, 70), [other])]
    lead, rest = stems(parts, tune)
    assert [voice.notes[0][2] for voice in lead] == [72, 60]
    assert [voice.notes[0][2] for voice in rest] == [48]
