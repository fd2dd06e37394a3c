"""Winds who share a note breathe in turn: at 100 crotchets a minute a bar of 4/4 lasts 2.4 s, and a crotchet is a breath."""

from __future__ import annotations

import itertools

from autoorch.problem.draft import Choice
from autoorch.score.model import Score
from autoorch.tables import load_tables
from tests.score.test_realise import events
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players

HALVES = "C5:2 D5:2 " * 10
SECONDS = 0.6


def rests(score: Score, part: int) -> list[float]:
    """Quarters from the beginning at which the rests of a part end."""
    found, at = [], 0
    for event in events(score, part):
        at += event.duration
        if not event.heads:
            found.append(at / score.ticks)
    return found


def both(first: str, second: str, music: str = HALVES) -> Score:
    sketch = make_sketch([music])
    return make_score(sketch, players(first, second), [whole(sketch, name, 1) for name in (first, second)])


def test_two_players_of_a_note_breathe_in_turn() -> None:
    score = both("flute", "oboe")
    first, second = rests(score, 0), rests(score, 1)
    assert first and second and not {*first} & {*second}
    longest = load_tables().rule("notation")["breath"]["lift_s"] + 2 * SECONDS
    for own in (first, second):
        edges = [0.0, *own, 40.0]
        assert all((b - a) * SECONDS <= longest for a, b in itertools.pairwise(edges))


def test_strings_hold_what_a_wind_leaves_and_never_rest() -> None:
    score = both("oboe", "violin")
    assert rests(score, 0) and not rests(score, 1)
    assert all(tick % 4 == 0 for tick in rests(score, 0)), "before bar lines"


def test_who_is_alone_with_a_note_keeps_it_whole() -> None:
    sketch = make_sketch([HALVES, "E3:2 F3:2 " * 10])
    score = make_score(sketch, players("flute", "bassoon"), [whole(sketch, "flute", 1), whole(sketch, "bassoon", 2)])
    assert not rests(score, 0) and not rests(score, 1)


def test_short_notes_and_short_stretches_stay_as_they_are() -> None:
    assert not rests(both("flute", "violin", "C5:.5 D5:.5 " * 40), 0)
    assert not rests(both("flute", "violin", "C5:2 D5:2 " * 3), 0)


def test_a_joint_comes_before_other_places() -> None:
    sketch = make_sketch([HALVES])
    own = [
        Choice("oboe", "s1", ("s1.1",), 0, a, b) for a, b in ((0, 10 * sketch.ticks), (10 * sketch.ticks, sketch.end))
    ]
    score = make_score(sketch, players("oboe", "violin"), [*own, whole(sketch, "violin", 1)])
    assert rests(score, 0)[0] == 10
