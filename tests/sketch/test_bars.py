"""Bars by their names: printed where unique, else counted; runs of them; beats in the unit of the metre."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.brief import Bars, parse_bars
from autoorch.errors import BriefError
from autoorch.sketch.bars import bars_of, beat_at, find_bar, mainly, name_of, runs, spelled, ticks_of
from autoorch.sketch.model import Sketch
from tests.support.hand import make_sketch

PLAIN = make_sketch(["C5:4 " * 5])
UPBEAT = make_sketch(["C5:1 " + "C5:4 " * 4], pickup="1")
TWICE = replace(PLAIN, bars=tuple(replace(bar, number=name) for bar, name in zip(PLAIN.bars, "12123", strict=True)))
SIX = make_sketch(["C5:3/2 " * 4], metre=(6, 8))


def test_a_printed_number_is_meant_where_it_is_unique_and_the_count_where_it_is_not() -> None:
    assert find_bar(UPBEAT, "0").index == 0 and find_bar(UPBEAT, "1").index == 1
    assert [find_bar(TWICE, name).index for name in ("1", "2", "3", "4")] == [0, 1, 4, 3]


SPLIT = replace(PLAIN, bars=tuple(replace(bar, number=name) for bar, name in zip(PLAIN.bars, "12234", strict=True)))
"""A bar that a repeat cuts in two, both halves with its number."""


@pytest.mark.parametrize("sketch", [PLAIN, UPBEAT, TWICE, SPLIT])
def test_each_bar_and_each_run_is_found_by_the_name_that_it_is_given(sketch: Sketch) -> None:
    for bar in sketch.bars:
        assert find_bar(sketch, name_of(sketch, bar)) is bar
        for last in sketch.bars[bar.index :]:
            named = bars_of(sketch, bar.onset, last.end)
            assert ticks_of(sketch, named) == ticks_of(sketch, parse_bars(str(named))) == (bar.onset, last.end)
    assert [name_of(SPLIT, bar) for bar in SPLIT.bars] == ["1", "#2", "#3", "3", "4"]


def test_what_no_direction_could_say_is_counted() -> None:
    odd = replace(PLAIN, bars=tuple(replace(bar, number=f"1/{bar.index}") for bar in PLAIN.bars))
    assert [name_of(odd, bar) for bar in odd.bars] == ["#1", "#2", "#3", "#4", "#5"]


@pytest.mark.parametrize("name", ["6", "0", "", "two", "-1"])
def test_a_bar_that_is_not_there_is_told(name: str) -> None:
    with pytest.raises(BriefError, match=f"there is no bar {name}; the sketch has bars 1 to 5"):
        find_bar(PLAIN, name)


def test_runs_in_ticks_with_and_without_beats() -> None:
    assert ticks_of(PLAIN, None) == (0, 20)
    assert ticks_of(PLAIN, Bars("2", "3")) == (4, 12)
    assert ticks_of(PLAIN, Bars("2", "3", 3.0, 2.0)) == (6, 10)
    assert ticks_of(SIX, Bars("1", "1", 4.0, 6.0)) == (3, 6)
    with pytest.raises(BriefError, match="are no run of bars"):
        ticks_of(PLAIN, Bars("3", "2"))


def test_runs_in_words() -> None:
    assert [spelled(PLAIN, *ticks) for ticks in ((0, 4), (3, 5), (4, 4), (0, 20))] == [
        "bar 1",
        "bars 1-2",
        "bar 2",
        "bars 1-5",
    ]
    assert runs(PLAIN, {4, 0, 1}) == "bars 1-2, 5"
    assert runs(PLAIN, [2]) == "bar 3"


def test_a_phrase_has_the_bars_of_which_half_is_its_own() -> None:
    assert mainly(PLAIN, 3, 10) == [1], "an upbeat left out, and a bar that ends before its middle"
    assert mainly(PLAIN, 2, 12) == [0, 1, 2], "half a bar is one"
    assert mainly(PLAIN, 7, 8) == [1], "what is shorter than that stands where it begins"


def test_beats_are_counted_in_the_unit_of_the_metre() -> None:
    assert [beat_at(PLAIN, tick) for tick in (0, 3, 4, 6)] == [1, 4, 1, 3]
    assert [beat_at(SIX, tick) for tick in (0, 3, 6, 7)] == [1, 4, 1, 2]
