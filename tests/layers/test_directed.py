"""Directions hold from joint to joint where their bars nearly say so, and cut strands where they begin inside a phrase."""

from __future__ import annotations

from autoorch.brief import parse_brief, parse_direction
from autoorch.layers.directed import edges, held_over
from autoorch.layers.model import PhrasePlan
from autoorch.sketch.model import Bar, Sketch, Staff
from tests.support.tiny import BAR, TICKS

SKETCH = Sketch(TICKS, (Staff(0, ""),), tuple(Bar(k, str(k + 1), k * BAR, BAR, (4, 4), 0) for k in range(12)), ())
UPBEAT = 4 * BAR - TICKS
PLAN = (PhrasePlan(0, UPBEAT, 0.4, "p"), PhrasePlan(UPBEAT, 12 * BAR, 0.4, "p"))


def held(bars: str) -> tuple[int, int]:
    return held_over(SKETCH, PLAN, parse_direction(f"{bars} must Oboe").bars)


def test_a_phrase_is_meant_with_its_upbeat() -> None:
    assert held("5-8") == (UPBEAT, 8 * BAR)
    assert held("1-4") == (0, UPBEAT)


def test_a_cue_that_begins_with_an_upbeat_is_meant_with_it() -> None:
    """The upbeat stands in a bar of its own, which is as short as it is."""
    starts = [0, *(TICKS + k * BAR for k in range(8))]
    bars = tuple(Bar(k, str(k), start, BAR if k else TICKS, (4, 4), 0) for k, start in enumerate(starts))
    plan = (PhrasePlan(0, 4 * BAR, 0.4, "p"), PhrasePlan(4 * BAR, 8 * BAR + TICKS, 0.4, "p"))
    sketch = Sketch(TICKS, (Staff(0, ""),), bars, ())
    assert held_over(sketch, plan, parse_direction("1-4 must Oboe").bars) == (0, 4 * BAR)
    assert held_over(sketch, plan, parse_direction("1.1-4 must Oboe").bars) == (0, 4 * BAR)
    assert held_over(sketch, plan, parse_direction("1.2-4 must Oboe").bars) == (2 * TICKS, 4 * BAR)
    assert held_over(sketch, plan, parse_direction("0 must Oboe").bars) == (0, TICKS)


def test_half_a_bar_of_a_phrase_is_some_of_it() -> None:
    """A phrase from the third beat of bar 5: who says 5-8 means that bar, who says 6-8 the phrase."""
    plan = (PhrasePlan(0, 4 * BAR + BAR // 2, 0.4, "p"), PhrasePlan(4 * BAR + BAR // 2, 12 * BAR, 0.4, "p"))
    places = [held_over(SKETCH, plan, parse_direction(f"{bars} must Oboe").bars) for bars in ("5-8", "6-8")]
    assert places == [(4 * BAR, 8 * BAR), (4 * BAR + BAR // 2, 8 * BAR)]


def test_of_two_joints_near_a_bar_line_the_nearer_is_meant() -> None:
    plan = (PLAN[0], PhrasePlan(UPBEAT, 4 * BAR, 0.4, "p"), PhrasePlan(4 * BAR, 12 * BAR, 0.4, "p"))
    assert held_over(SKETCH, plan, parse_direction("5-8 must Oboe").bars) == (4 * BAR, 8 * BAR)


def test_inside_a_phrase_the_bars_are_meant_as_they_stand() -> None:
    assert held("7-8") == (6 * BAR, 8 * BAR)


def test_a_beat_that_is_said_is_meant() -> None:
    assert held("5.1-8") == (UPBEAT, 8 * BAR)
    assert held("5.2-8") == (4 * BAR + TICKS, 8 * BAR)
    assert held("1-4.4") == (0, 4 * BAR)


def test_who_says_no_bars_means_all() -> None:
    assert held_over(SKETCH, PLAN, None) == (0, 12 * BAR)


def test_players_and_ways_change_at_the_edges_and_a_passage_to_score_it_like_cuts_nothing() -> None:
    brief = parse_brief(
        '[[direction]]\nbars = "7-8"\ntechnique = "pizz"\n[[direction]]\nbars = "10"\nlike = "palette:high cellos"\n'
    )
    assert list(edges(SKETCH, PLAN, brief)) == [6 * BAR, 8 * BAR]
