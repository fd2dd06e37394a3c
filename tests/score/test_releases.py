"""Ends of notes on the division of the attacks around them; threes and fives under brackets of their own."""

from __future__ import annotations

from autoorch.layers.model import MaterialNote
from autoorch.pitch import parse
from autoorch.score.releases import released
from autoorch.score.streams import Grid, Played
from autoorch.sketch.model import Bar

BEAT = 60
GRID = Grid(BEAT, 1, (Bar(0, "1", 0, 4 * BEAT, (4, 4), 0),))


def ends(*times: tuple[int, int]) -> list[int]:
    """Ends after `released` of notes from onset to end."""
    notes = [Played(MaterialNote(f"n{k}", a, b - a, parse("C5")), a, b, 0, "s1.1") for k, (a, b) in enumerate(times)]
    return [note.end for note in released(notes, GRID)]


def test_in_threes_an_end_on_fifths_is_one_of_the_threes() -> None:
    assert ends((0, 12), (20, 40), (40, 52)) == [20, 40, 60]


def test_what_belongs_to_the_beat_stays() -> None:
    for times in (
        ((0, 20), (20, 40), (40, 60)),
        ((0, 20), (40, 60)),
        ((0, 15), (30, 45)),
        ((0, 80), (80, 100), (100, 120)),
    ):
        assert ends(*times) == [end for _, end in times]
