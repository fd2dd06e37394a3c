"""Which accidentals are printed: keys, the rest of a bar, ties, reminders, two voices on one staff."""

from __future__ import annotations

from autoorch.pitch import key_alters
from autoorch.score.model import Measure
from autoorch.write.accidentals import Accidentals
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players


def printed(music: str, fifths: int = 0, *more: str) -> list[str]:
    lines = [music, *more]
    sketch = make_sketch(lines, fifths=fifths)
    score = make_score(sketch, players("violin"), [whole(sketch, "violin", *range(1, len(lines) + 1))])
    walk = Accidentals()
    return [_told(walk, measure) for measure in score.parts[0].measures]


def _told(walk: Accidentals, measure: Measure) -> str:
    signs = walk.of(measure)
    return " ".join(
        f"{head.written.step}{signs[v, k, h]}"
        for v, voice in enumerate(measure.voices)
        for k, event in enumerate(voice)
        for h, head in enumerate(event.heads)
        if (v, k, h) in signs
    )


def test_key_signatures() -> None:
    assert {step for step, alter in key_alters(3).items() if alter == 1} == {"F", "C", "G"}
    assert {step for step, alter in key_alters(-2).items() if alter == -1} == {"B", "E"}
    assert set(key_alters(7).values()) == {1} and set(key_alters(-7).values()) == {-1}


# How long an accidental holds: common practice.
def test_an_accidental_holds_to_the_end_of_its_bar_on_its_line() -> None:
    assert printed("F#4:1 F#4:1 F4:1 F#5:1") == ["F1 F0 F1"]
    assert printed("F#4:1 F4:3", 1) == ["F0"]


def test_a_tie_carries_it_over_the_bar_line_but_not_farther() -> None:
    assert printed("G4:3 F#4:2 F#4:3") == ["F1", "F1"]
    assert printed("G4:3 F#4:5") == ["F1", ""]


def test_a_reminder_after_a_change_in_the_bar_before() -> None:
    assert printed("F#4:4 F4:4 F4:4") == ["F1", "F0?", ""]


def test_two_voices_on_one_staff_share_accidentals_in_time_order() -> None:
    assert printed("C5:1 F#5:3", 0, "A4:2 F#5:2") == ["F1"]
