from __future__ import annotations

from autoorch.score.idiom import left_out, player_marks
from autoorch.score.notation import notation
from autoorch.sketch.model import Mark
from autoorch.tables import load_tables
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players


def test_a_player_gets_the_signs_that_mean_something_to_him() -> None:
    table = load_tables().instruments
    signs = [("accent", "fingering", "up-bow", "trill-mark", "arpeggiate")]
    assert player_marks(table["flute"], signs, signs, 1, notation()) == ("accent", "trill-mark")
    assert player_marks(table["violin"], signs, signs, 1, notation()) == ("accent", "trill-mark", "up-bow")
    assert player_marks(table["harp"], signs, signs, 3, notation()) == ("accent", "arpeggiate", "trill-mark")


def test_a_tremolo_goes_on_over_a_tie_and_an_accent_does_not() -> None:
    violin = load_tables().instruments["violin"]
    assert player_marks(violin, [("accent", "tremolo-3")], [], 1, notation()) == ("tremolo-3",)


def test_what_stands_in_no_part_is_told() -> None:
    notes = {
        "a0": {"marks": ("fingering", "staccato")}, "a1": {"marks": ("tremolo-start-3",)},
        "a2": {"marks": ("tremolo-stop-3",)},
    }  # fmt: skip
    marks = [Mark("pedal", 0, 2, 0, "pedal"), Mark("chord", 0, 0, -1, "Am7"), Mark("dynamic", 0, 0, 0, "p")]
    sketch = make_sketch(["C5:1 D5:1 E5:2"], notes=notes, marks=marks)
    told = left_out(sketch, notation())
    assert told == (
        "not in the score: chord symbols (taken as the harmony): 1",
        "not in the score: pedal marks: 1",
        'not in the score: signs "fingering": 1',
        "not in the score: two-note tremolos (written as plain notes): 1",
    )
    assert make_score(sketch, players("flute"), [whole(sketch, "flute", 1)]).notices == told
