from __future__ import annotations

from dataclasses import replace

from autoorch.roles.model import Phrase
from autoorch.score.landmarks import letters
from autoorch.score.notation import notation
from autoorch.score.streams import Grid
from autoorch.sketch.model import Mark, Sketch
from tests.support.hand import make_sketch, read_hand


def found(sketch: Sketch, *phrases: tuple[int, str]) -> list[tuple[int, str]]:
    """(bar from 0, letter) where phrases of these labels begin at these bars."""
    ends = [start for start, _ in phrases[1:]] + [len(sketch.bars)]
    made = tuple(Phrase(4 * a, 4 * b, label) for (a, label), b in zip(phrases, ends, strict=True))
    reading = read_hand(sketch).with_(phrases=made)
    return [(mark.tick // 4, mark.value) for mark in letters(sketch, reading, Grid.of(sketch), notation())]


LONG = make_sketch(["C5:4 " * 40])


def test_new_material_has_a_letter_where_the_last_landmark_is_far() -> None:
    assert notation().rehearsal["bars_apart"] == 8
    assert found(LONG, (0, "A"), (4, "B"), (9, "C"), (16, "A"), (24, "A'"), (28, "B")) == [(9, "A"), (28, "B")]


def test_a_new_key_and_a_double_bar_have_one_at_once() -> None:
    bars = [replace(bar, fifths=2 if bar.index >= 12 else 0) for bar in LONG.bars]
    bars[19] = replace(bars[19], barline="double")
    sketch = replace(LONG, bars=tuple(bars))
    assert found(sketch, (0, "A"), (10, "B")) == [(12, "A"), (20, "B")]


def test_after_an_upbeat_the_letter_stands_on_the_bar_line() -> None:
    sketch = make_sketch(["C5:4 " * 20])
    reading = read_hand(sketch).with_(phrases=(Phrase(0, 39, "A"), Phrase(39, 80, "B")))
    assert [mark.tick for mark in letters(sketch, reading, Grid.of(sketch), notation())] == [40]


def test_the_sketchs_own_letters_are_kept_alone() -> None:
    own = replace(LONG, marks=(Mark("rehearsal", 4, 4, -1, "1"),))
    assert found(own, (0, "A"), (20, "B")) == []


def test_a_short_piece_has_none() -> None:
    assert found(make_sketch(["C5:4 " * 8]), (0, "A"), (4, "B")) == []


def test_new_material_just_before_a_new_key_leaves_the_letter_to_the_key() -> None:
    bars = tuple(replace(bar, fifths=2 if bar.index >= 20 else 0) for bar in LONG.bars)
    assert found(replace(LONG, bars=bars), (0, "A"), (18, "B")) == [(20, "A")]
    assert found(LONG, (0, "A"), (18, "B")) == [(18, "A")]


def test_two_strong_landmarks_near_each_other_have_a_letter_each_unless_they_are_very_near() -> None:
    def keys(*changes: int) -> Sketch:
        bars = tuple(replace(bar, fifths=sum(bar.index >= k for k in changes)) for bar in LONG.bars)
        return replace(LONG, bars=bars)

    assert found(keys(12, 16), (0, "A")) == [(12, "A"), (16, "B")]
    assert found(keys(12, 15), (0, "A")) == [(12, "A")]
