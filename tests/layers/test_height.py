"""The peak is no lower than the loud music before it, as far as its lead goes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.layers.colours import Palette
from autoorch.layers.height import heightened
from autoorch.layers.model import UNISON, PhrasePlan, Turn
from autoorch.lineup import parse_lineup
from autoorch.pitch import from_midi
from autoorch.sketch.model import SketchNote
from autoorch.tables import load_tables

TABLES = load_tables()
PALETTE = Palette.of(parse_lineup("romantic", TABLES), TABLES)
BEFORE = PhrasePlan(0, 16, 0.8, "f", lead="violins", doublers=3)
PEAK = PhrasePlan(16, 32, 0.9, "ff", peak=True, lead="violins", doublers=4)


def tune(start: int, *midi: int) -> list[SketchNote]:
    return [SketchNote(f"{start}.{k}", start + 4 * k, 4, from_midi(m), 0, 1) for k, m in enumerate(midi)]


@pytest.mark.parametrize(
    ("before", "peak", "expected"),
    [
        ((79, 81), (84, 86), 0),
        ((79, 81), (72, 74), 1),
        ((91, 91), (80, 82), 0),
        ((60, 60), (98, 100), 0),
        ((60, 60), (50, 52), None),
    ],
)
def test_the_peak_has_the_octave_that_reaches_as_high(
    before: tuple[int, ...], peak: tuple[int, ...], expected: int | None
) -> None:
    """Written higher; lower, with room above; lower, without; at the top of the violins; below their strings."""
    found = heightened((BEFORE, PEAK), (tune(0, *before), tune(16, *peak)), PALETTE)
    assert [phrase.octave for phrase in found] == [None, expected]


def test_soft_music_before_and_soft_peaks_ask_nothing() -> None:
    notes = (tune(0, 79, 81), tune(16, 72, 74))
    assert heightened((replace(BEFORE, dynamic="p"), PEAK), notes, PALETTE)[1].octave == 0
    assert heightened((BEFORE, replace(PEAK, dynamic="mf")), notes, PALETTE)[1].octave is None
    assert heightened((BEFORE, replace(PEAK, scheme=UNISON)), notes, PALETTE)[1].octave is None


def test_a_phrase_that_grows_into_the_peak_has_its_octave_throughout() -> None:
    grown = replace(PEAK, dynamic="mf", turns=(Turn(24, "ff", 0.9, doublers=4),))
    found = heightened((BEFORE, grown), (tune(0, 79), tune(16, 72, 74)), PALETTE)[1]
    assert [found.at(tick).octave for tick in (16, 24)] == [1, 1]
