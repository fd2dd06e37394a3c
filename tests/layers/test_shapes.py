"""What the brief's shapes say of phrases, and what they can't say."""

from __future__ import annotations

import pytest

from autoorch.brief import parse_brief
from autoorch.errors import BriefError
from autoorch.layers.shapes import level_with_peak, peak_given, weights_given
from tests.layers.test_plan import cue

SKETCH, READING = cue([("a", "p"), ("b", "p"), ("c", "f"), ("d", "p")])
PHRASES = READING.phrases


def shaped(*rows: str) -> tuple[dict[int, float], int | None]:
    brief = parse_brief("".join(f"[[shape]]\n{row}\n" for row in rows))
    return weights_given(SKETCH, PHRASES, brief), peak_given(SKETCH, PHRASES, brief)


def test_a_weight_is_that_of_the_phrases_that_begin_there() -> None:
    assert shaped('bars = "5-12"\nweight = 0.3', 'bars = "13-16"\nweight = 0.9\npeak = true') == (
        {1: 0.3, 2: 0.3, 3: 0.9},
        3,
    )


def test_the_peak_is_the_phrase_most_of_which_is_meant() -> None:
    assert shaped('bars = "4-8"\npeak = true') == ({}, 1)
    assert shaped('bars = "10"\npeak = true') == ({}, 2)
    assert shaped('bars = "1-4"\nweight = 0.2') == ({0: 0.2}, None)


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (['bars = "7-8"\nweight = 0.9'], r"bars 7-8: no phrase begins there.* the one around is bars 5-8$"),
        (['bars = "1-8"\nweight = 0.9', 'bars = "5-8"\nweight = 0.2'], "bars 5-8: bars 5-8 have weight 0.9 already$"),
        (['bars = "40"\nweight = 0.9'], "there is no bar 40; the sketch has bars 1 to 16$"),
    ],
)
def test_what_no_phrase_can_have_is_said_in_one_line(rows: list[str], says: str) -> None:
    with pytest.raises(BriefError, match=says):
        shaped(*rows)


def test_a_weight_that_the_peak_shares_with_its_neighbours_is_told() -> None:
    def told(row: str) -> tuple[str, ...]:
        return level_with_peak(SKETCH, PHRASES, parse_brief(f"[[shape]]\n{row}\n"))

    (line,) = told('bars = "1-8"\nweight = 0.9\npeak = true')
    assert line.startswith("shape, bars 1-8: the one peak is bars 1-4, but weight 0.9 is asked for in bars 5-8 as well")
    assert told('bars = "5-8"\nweight = 0.9\npeak = true') == told('bars = "1-8"\npeak = true') == ()
