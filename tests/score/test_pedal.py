"""A pedal in ticks of crotchets: bass dots become full notes for who must hold them, figures become legato."""

from __future__ import annotations

from autoorch.score.model import Score
from autoorch.sketch.model import Mark
from tests.score.test_realise import events, names, slurs
from tests.support.hand import make_score, make_sketch, read_hand, whole
from tests.support.tiny import players

DOTS: dict[str, dict[str, object]] = {"b0": {"marks": ("staccato",)}, "b2": {"marks": ("staccato",)}}


def score(marks: list[Mark], *wanted: str) -> Score:
    """A tune over a dotted bass with rests, the pedal down in the first bar (8 ticks), for these players of the bass."""
    sketch = make_sketch(
        ["C5:4 D5:1/2 E5:1/2 F5:1/2 G5:1/2 A5:1/2 G5:1/2 F5:1/2 E5:1/2", "C3:1 -:1 G3:1 -:1 C3:1 -:3"],
        marks=marks,
        notes=DOTS,
    )
    reading = read_hand(sketch, ("melody", "bass"))
    return make_score(sketch, players(*wanted), [whole(sketch, name, 2) for name in wanted], reading)


def test_the_bass_is_held_under_the_pedal_and_loses_its_dots() -> None:
    down = [Mark("pedal", 0, 8, 1, "")]
    held = score(down, "cello", "bassoon", "harp")
    for part in (0, 1):
        assert [(n, e.value) for n, e in zip(names(events(held, part)), events(held, part), strict=True)] == [
            ("C3", "half"), ("G3", "half"), ("C3", "quarter"), ("rest", "quarter"), ("rest", "half"),
        ]  # fmt: skip
        assert not any(e.marks for e in events(held, part))
    lower = [event for m in held.parts[2].measures for event in m.voices[-1]]
    assert names(lower)[:4] == ["C3", "rest", "G3", "rest"], "a harp rings by itself"


def test_without_a_pedal_nothing_changes() -> None:
    dry = events(score([], "cello"))
    assert names(dry)[:4] == ["C3", "rest", "G3", "rest"]
    assert [e.marks for e in dry if e.marks] == [("staccato",), ("staccato",)]


def test_a_lifted_pedal_ends_the_note() -> None:
    lifted = events(score([Mark("pedal", 0, 3, 1, "")], "cello"))
    assert [(n, e.value, e.dots) for n, e in zip(names(lifted), lifted, strict=True)][:2] == [
        ("C3", "quarter", 1), ("rest", "eighth", 0),
    ]  # fmt: skip


def test_quick_notes_under_the_pedal_are_slurred_bar_by_bar() -> None:
    sketch = make_sketch(
        ["C5:1/2 E5:1/2 G5:1/2 E5:1/2 C5:1/2 E5:1/2 G5:1/2 E5:1/2"], marks=[Mark("pedal", 0, 8, 0, "")]
    )
    wet = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])
    assert slurs(events(wet)) == [("C5", (1,), ()), ("E5", (), (1,))]
    dry = make_sketch(["C5:1/2 E5:1/2 G5:1/2 E5:1/2 C5:1/2 E5:1/2 G5:1/2 E5:1/2"])
    assert slurs(events(make_score(dry, players("flute"), [whole(dry, "flute", 1)]))) == []


def test_no_slur_under_the_pedal_goes_over_a_rest() -> None:
    sketch = make_sketch(["-:1/2 E5:1/2 -:1/2 G5:1/2 -:1/2 E5:1/2 G5:1/2 A5:1/2"], marks=[Mark("pedal", 0, 8, 0, "")])
    reading = read_hand(sketch, ("rhythm",))
    part = events(make_score(sketch, players("piano"), [whole(sketch, "piano", 1)], reading))
    assert slurs(part) == [("E5", (1,), ()), ("A5", (), (1,))]
    assert [event.onset // part[0].duration for event in part if event.slur_starts] == [5]
