"""Single elements of a written bar: attributes where they change, bar lines, signs on notes, where words stand."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from lxml import etree

from autoorch.score.model import Score
from autoorch.sketch.model import Mark
from autoorch.write.credits import credits
from autoorch.write.elements import Element
from autoorch.write.musicxml import write_musicxml
from autoorch.write.pagesize import page_size
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players


def score(music: str, player: str = "flute", **more: object) -> Score:
    sketch = make_sketch([music], **more)  # type: ignore[arg-type]
    return make_score(sketch, players(player), [whole(sketch, player, 1)])


def measures(made: Score) -> list[Element]:
    file = io.BytesIO()
    write_musicxml(made, file)
    return etree.fromstring(file.getvalue()).findall("part/measure")


def with_bars(made: Score, **changes: dict[str, object]) -> Score:
    """The score with fields of single bars changed: b0, b1, …"""
    bars = [replace(bar, **changes.get(f"b{bar.index}", {})) for bar in made.bars]  # type: ignore[arg-type]
    return replace(made, bars=tuple(bars))


def told(element: Element | None) -> list[tuple[str, str]]:
    """Each child with its text."""
    return [] if element is None else [(str(child.tag), (child.text or "").strip()) for child in element]


def test_only_what_changes_stands_in_the_attributes() -> None:
    made = with_bars(score("C5:4 D5:4 E5:4"), b1={"fifths": 2, "mode": ""}, b2={"fifths": 2, "mode": ""})
    parts = tuple(
        replace(part, measures=tuple(replace(m, fifths=2 if k else 0) for k, m in enumerate(part.measures)))
        for part in made.parts
    )
    first, second, third = measures(replace(made, parts=parts))
    assert [tag for tag, _ in told(first.find("attributes"))] == ["divisions", "key", "time", "clef"]
    assert told(first.find("attributes/key")) == [("fifths", "0"), ("mode", "major")]
    assert [tag for tag, _ in told(second.find("attributes"))] == ["key"]
    assert told(second.find("attributes/key")) == [("fifths", "2")]
    assert third.find("attributes") is None


@pytest.mark.parametrize(
    ("player", "clef"),
    [
        ("flute", [("sign", "G"), ("line", "2")]),
        ("tenor", [("sign", "G"), ("line", "2"), ("clef-octave-change", "-1")]),
        ("viola", [("sign", "C"), ("line", "3")]),
        ("tuba", [("sign", "F"), ("line", "4")]),
    ],
)
def test_clefs(player: str, clef: list[tuple[str, str]]) -> None:
    low = "C2:4" if player == "tuba" else "E4:4"
    assert told(measures(score(low, player))[0].find("attributes/clef")) == clef


def test_bar_lines() -> None:
    made = with_bars(
        score("C5:4 D5:4 E5:4 F5:4"),
        b0={"barline": "double"},
        b1={"repeat_start": True, "fermata": True},
        b2={"repeat_end": 3},
    )
    lines = [
        [(line.get("location"), told(line), dict(line[-1].attrib)) for line in measure.findall("barline")]
        for measure in measures(made)
    ]
    assert lines == [
        [("right", [("bar-style", "light-light")], {})],
        [
            ("left", [("bar-style", "heavy-light"), ("repeat", "")], {"direction": "forward"}),
            ("right", [("fermata", "")], {"type": "upright"}),
        ],
        [("right", [("bar-style", "light-heavy"), ("repeat", "")], {"direction": "backward", "times": "3"})],
        [("right", [("bar-style", "light-heavy")], {})],
    ]


def test_bars_without_a_number_of_their_own_are_implicit() -> None:
    made = with_bars(score("C5:4 D5:4 E5:4"), b0={"number": "0"}, b1={"number": "X1"}, b2={"number": "2"})
    assert [measure.get("implicit") for measure in measures(made)] == ["yes", "yes", None]


def test_a_tremolo_between_two_notes_starts_and_stops() -> None:
    marks = {
        "a0": {"marks": ("tremolo-start-3",)},
        "a1": {"marks": ("tremolo-stop-3",)},
        "a2": {"marks": ("tremolo-2",)},
    }
    found = [
        (sign.get("type"), sign.text) for sign in measures(score("C5:1 E5:1 G5:2", notes=marks))[0].iter("tremolo")
    ]
    assert found == [("start", "3"), ("stop", "3"), ("single", "2")]


def test_what_hangs_on_a_chord_hangs_on_its_first_note() -> None:
    sketch = make_sketch(
        ["E5:2 F5:2", "C5:2 D5:2"], slurs=[("a0", "a1")], notes={"a0": {"marks": ("accent",)}, "b0": {"marks": ("accent",)}}
    )  # fmt: skip
    made = make_score(sketch, players("harp"), [whole(sketch, "harp", 1), whole(sketch, "harp", 2)])
    notes = measures(made)[0].findall("note")
    pairs = [(note.find("chord") is not None, len(note.findall("notations/*"))) for note in notes]
    assert [chord for chord, _ in pairs].count(True) >= 1
    assert all(not signs for chord, signs in pairs if chord)
    assert sum(signs for _, signs in pairs) == 3, "an accent, the two ends of the slur"


@pytest.mark.parametrize(
    ("metre", "unit", "rate"),
    [
        ((4, 4), "quarter", "90"), ((6, 8), "quarter dotted", "60"), ((3, 8), "quarter", "90"), ((2, 2), "half", "45"),
        ((5, 8), "quarter", "90"),
    ],
)  # fmt: skip
def test_a_metronome_mark_counts_in_the_beat_of_the_metre(metre: tuple[int, int], unit: str, rate: str) -> None:
    mark = measures(score("C5:6", metre=metre, marks=[Mark("tempo", 0, 0, -1, "90")]))[0].find(".//metronome")
    assert mark is not None
    dotted = " dotted" if mark.find("beat-unit-dot") is not None else ""
    assert (f"{mark.findtext('beat-unit')}{dotted}", mark.findtext("per-minute")) == (unit, rate)


def test_words_of_a_first_page_stand_inside_its_margins() -> None:
    made = replace(score("C5:4"), title="A walk", composer="Somebody")
    size = page_size(made)
    words = [own.find("credit-words") for own in credits(made, size)]
    found = {each.text: (each.get("justify"), float(each.get("default-x", "0"))) for each in words if each is not None}
    left, right = round(size.tenths(size.margin)), round(size.tenths(size.width - size.margin))
    assert found == {
        "A walk": ("center", round(size.tenths(size.width / 2))), "Score": ("left", left), "Somebody": ("right", right),
    }  # fmt: skip
