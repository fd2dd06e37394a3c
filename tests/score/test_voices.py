from __future__ import annotations

from autoorch.score.model import Part
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players


def part(lines: list[str], instrument: str, *numbers: int, size: int = 12) -> Part:
    sketch = make_sketch(lines)
    score = make_score(sketch, players(instrument, size=size), [whole(sketch, instrument, *numbers)])
    return score.parts[0]


def shape(found: Part, bar: int = 0) -> list[list[tuple[str, ...]]]:
    return [[tuple(str(h.written) for h in e.heads) for e in voice] for voice in found.measures[bar].voices]


def test_equal_rhythms_become_chords_and_different_ones_two_voices() -> None:
    assert shape(part(["E5:2 F5:2", "C5:2 D5:2"], "violin", 1, 2)) == [[("C5", "E5"), ("D5", "F5")]]
    assert shape(part(["E5:1 F5:3", "C5:4"], "violin", 1, 2)) == [[("E5",), ("F5",)], [("C5",)]]
    third = part(["G5:1 A5:3", "E5:1 F5:3", "C5:4"], "violin", 1, 2, 3)
    assert shape(third) == [[("E5", "G5"), ("F5", "A5")], [("C5",)]]


def test_a_tie_never_leaves_its_voice() -> None:
    found = part(["E5:4 F5:4 G5:2 A5:2", "C5:6 D5:2 E5:2 F5:2"], "violin", 1, 2)
    assert [len(m.voices) for m in found.measures] == [2, 2, 1]
    held = [h for m in found.measures for e in m.voices[-1] for h in e.heads if h.tie_start or h.tie_stop]
    assert [(str(h.written), h.tie_start, h.tie_stop) for h in held] == [("C5", True, False), ("C5", False, True)]


def test_three_rhythms_share_two_voices_by_ties() -> None:
    found = part(["G5:4", "E5:2 F5:2", "C5:1 D5:3"], "violin", 1, 2, 3)
    assert len(found.measures[0].voices) == 2
    sounding = {str(h.written) for v in found.measures[0].voices for e in v for h in e.heads}
    assert sounding == {"G5", "E5", "F5", "C5", "D5"}


def test_the_harp_has_its_lines_on_two_staves() -> None:
    found = part(["E5:2 F5:2", "C3:4"], "harp", 1, 2)
    assert found.staves == 2
    assert found.measures[0].staff_of == (1, 2)
    assert shape(found) == [[("E5",), ("F5",)], [("C3",)]]
    wide = part(["C2:1 G2:1 C5:1 E5:1"], "harp", 1)
    assert shape(wide) == [[(), ("C5",), ("E5",)], [("C2",), ("G2",), ()]]


def test_no_hand_has_more_than_it_can_strike() -> None:
    """Five notes above middle C, then a twelfth in one stave: the lowest goes to the other hand."""
    five = part(["D5:2", "B4:2", "G4:2", "F4:2", "D4:2"], "harp", 1, 2, 3, 4, 5)
    assert shape(five) == [[("F4", "G4", "B4", "D5"), ()], [("D4",), ()]]
    wide = part(["G5:2 -:2", "C4:2 -:2"], "harp", 1, 2)
    assert shape(wide) == [[("G5",), ()], [("C4",), ()]]
    low = part(["B3:2", "G3:2", "E3:2", "C3:2", "G2:2"], "harp", 1, 2, 3, 4, 5)
    assert shape(low) == [[("B3",), ()], [("G2", "C3", "E3", "G3"), ()]]


def test_every_voice_fills_its_bar() -> None:
    found = part(["-:1 E5:2 -:1 -:4", "C5:3 -:5"], "violin", 1, 2)
    for measure in found.measures:
        for voice in measure.voices:
            assert sum(event.duration for event in voice) == 4, "one tick a quarter"
