"""Harp pedals and timpani drums, at 100 crotchets a minute. Drums of the table: D2 to A2, F2 to C3, Bb2 to F3, D3 to A3."""

from __future__ import annotations

from autoorch.score.model import Score
from tests.score.test_marks import marks
from tests.score.test_realise import events, names
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players


def played(instrument: str, music: str, fifths: int = 0) -> Score:
    sketch = make_sketch([music], fifths=fifths)
    return make_score(sketch, players(instrument), [whole(sketch, instrument, 1)])


def test_the_harps_pedals_stand_at_its_first_note() -> None:
    assert marks(played("harp", "-:4 C5:1 F#5:1 Bb5:1 E5:1", 1), 0, "words") == [(1, 0, "D♮ C♮ B♭ | E♮ F♯ G♮ A♮")]
    assert marks(played("harp", "C5:4", -4), 0, "words")[0][2] == "D♭ C♮ B♭ | E♭ F♮ G♮ A♭", "the rest as the key has it"
    assert marks(played("flute", "C5:4"), 0, "words") == []
    assert marks(played("guitar", "C4:4"), 0, "words") == [], "plucked, but with frets"


def test_the_pedals_that_move_are_told_when_the_hands_are_free() -> None:
    told = marks(played("harp", "C5:2 E5:1 -:1 Bb4:2 Eb5:2 Bb4:4 B4:4"), 0, "words")
    assert told == [(0, 0, "D♮ C♮ B♭ | E♮ F♮ G♮ A♮"), (1, 2, "E♭"), (3, 0, "B♮")]


def test_a_harp_takes_the_other_name_where_no_foot_is_quick_enough() -> None:
    quick = "G#4:1/4 Ab4:1/4 G4:1/4 G#4:1/4 B4:1 E5:2"
    found = [n for n in names(events(played("harp", quick))) if n != "rest"]
    assert found[:4] == ["G#4", "Ab4", "G4", "Ab4"], "the string of A stands on A flat already"
    slow = [n for n in names(events(played("harp", "G#4:1 G4:1 G#4:1 E5:1"))) if n != "rest"]
    assert slow[:3] == ["G#4", "G4", "G#4"]


def test_the_drums_are_tuned_before_the_piece_and_changed_in_time() -> None:
    tuned = played("timpani", "C3:1 G2:1 C3:1 G2:1")
    assert marks(tuned, 0, "words") == [(0, 0, "Tune G C")]
    assert marks(played("timpani", "-:4 -:4 C3:4"), 0, "words") == [(0, 0, "Tune C")], "not over the first stroke"
    assert marks(played("timpani", "F##2:4"), 0, "words") == [(0, 0, "Tune G")]
    changed = played("timpani", "D2:1 G2:1 C3:1 F3:1 -:4 Bb2:4")
    told = marks(changed, 0, "words")
    assert told[0] == (0, 0, "Tune D G C F")
    assert told[1][:2] == (1, 0) and told[1][2] in ("G to B♭", "C to B♭"), (
        "right after the last note, on a drum that has it"
    )
