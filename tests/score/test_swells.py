"""A roll into a peak: soft, a hairpin, loud; what follows is told its own dynamic again."""

from __future__ import annotations

from autoorch.layers.model import MaterialNote
from autoorch.pitch import parse
from autoorch.score.marks import Placed
from autoorch.score.streams import Played
from autoorch.score.swells import with_swells


def played(onset: int, end: int, *swell: str) -> Played:
    note = MaterialNote(f"n{onset}", onset, end - onset, parse("B4"), swell=swell)
    return Played(note, onset, end, 0, "t.1")


def told(notes: list[Played], *marks: Placed) -> list[tuple[int, str]]:
    return sorted((m.tick, m.value) for m in with_swells(notes, marks, lambda note: "f", 2))


def test_a_swell_before_a_rest_has_its_goal_under_its_own_end() -> None:
    assert told([played(0, 8, "p", "ff")], Placed(0, "dynamic", "f")) == [
        (0, "crescendo"),
        (0, "p"),
        (6, "ff"),
        (6, "stop"),
    ]
    assert (1, "ff") in told([played(0, 2, "p", "ff")]), "a short one grows half its time"


def test_the_next_note_is_told_its_dynamic() -> None:
    notes = [played(0, 8, "p", "f"), played(8, 12)]
    assert told(notes, Placed(0, "dynamic", "f")) == [(0, "crescendo"), (0, "p"), (8, "f"), (8, "stop")]


def test_a_later_note_too_unless_it_has_one() -> None:
    notes = [played(0, 8, "p", "f"), played(16, 20)]
    assert (16, "f") in told(notes)
    assert told(notes, Placed(16, "dynamic", "mf"))[-1] == (16, "mf")


def test_others_stay_as_they_are() -> None:
    marks = [Placed(0, "dynamic", "f"), Placed(4, "wedge", "diminuendo")]
    assert with_swells([played(0, 8)], marks, lambda note: "f", 2) == marks


def test_a_swell_takes_the_place_of_what_was_said_under_it_and_of_nothing_else() -> None:
    before = [Placed(0, "wedge", "diminuendo"), Placed(4, "wedge", "stop"), Placed(0, "dynamic", "mf")]
    over = [Placed(6, "wedge", "crescendo"), Placed(16, "wedge", "stop"), Placed(10, "dynamic", "mp")]
    after = [Placed(16, "wedge", "diminuendo"), Placed(20, "wedge", "stop"), Placed(16, "dynamic", "f")]
    notes = [played(0, 8), played(8, 16, "p", "f"), played(16, 20)]
    kept = [(0, "diminuendo"), (0, "mf"), (4, "stop")]
    own = [(8, "crescendo"), (8, "p"), (16, "diminuendo"), (16, "f"), (16, "stop"), (20, "stop")]
    assert told(notes, *before, *over, *after) == kept + own
