from __future__ import annotations

from pathlib import Path

from lxml import etree

from autoorch.score.model import Score
from autoorch.write.musicxml import write_musicxml
from tests.score.test_realise import events
from tests.support.hand import make_score, make_sketch, whole
from tests.support.readback import notes_music21, notes_of, notes_partitura, same
from tests.support.schema import schema_errors
from tests.support.tiny import players

SIGNS: dict[str, dict[str, object]] = {"a0": {"marks": ("tremolo-start-3",)}, "a1": {"marks": ("tremolo-stop-3",)}}
TOLD = "not in the score: two-note tremolos (written as plain notes): 1"


def score(instrument: str, music: str = "C5:1 E5:1 G5:2") -> Score:
    sketch = make_sketch([music], notes=SIGNS)
    return make_score(sketch, players(instrument), [whole(sketch, instrument, 1)])


def test_both_notes_have_the_value_of_the_whole() -> None:
    made = score("violin")
    assert [(e.value, e.duration, e.tuplet, e.marks) for e in events(made)] == [
        ("half", 1, (2, 1, "half"), ("tremolo-start-3",)), ("half", 1, (2, 1, "half"), ("tremolo-stop-3",)),
        ("half", 2, None, ()),
    ]  # fmt: skip
    assert made.notices == ()


def test_who_does_not_play_them_has_plain_notes_and_it_is_told() -> None:
    made = score("horn")
    assert [(e.value, e.marks) for e in events(made)] == [("quarter", ()), ("quarter", ()), ("half", ())]
    assert made.notices == (TOLD,)


def test_notes_of_different_length_are_plain() -> None:
    made = score("violin", "C5:1 E5:3")
    assert not any(e.marks or e.tuplet for e in events(made))
    assert made.notices == (TOLD,)


def test_two_quavers_by_themselves_are_one_and_two_of_a_longer_beam_are_plain() -> None:
    (first, second, *_) = events(score("violin", "C5:0.5 E5:0.5 G5:1 C5:2"))
    assert [(e.value, e.beams) for e in (first, second)] == [("quarter", ()), ("quarter", ())]
    beamed = score("violin", "C5:0.25 E5:0.25 G5:0.25 C6:0.25 G5:3")
    assert not any(e.marks or e.tuplet for e in events(beamed))
    assert beamed.notices == (TOLD,)


def test_what_is_tied_on_is_plain() -> None:
    made = score("violin", "C5:2 E5:4 G5:2")
    assert [(e.value, e.marks) for e in events(made)][:2] == [("half", ()), ("half", ())]
    assert made.notices == (TOLD,)


def test_the_file_is_valid_and_comes_back(tmp_path: Path) -> None:
    made, path = score("flute"), tmp_path / "score.musicxml"
    with path.open("wb") as file:
        write_musicxml(made, file)
    assert schema_errors(path) == []
    signs = [(t.get("type"), t.text) for t in etree.parse(path).getroot().iter("tremolo")]
    assert signs == [("start", "3"), ("stop", "3")]
    assert same(notes_of(made), notes_music21(path)) == []
    assert same(notes_of(made, written=True), notes_partitura(path)) == []


def test_text_that_nobody_sings_is_told() -> None:
    sketch = make_sketch(["C5:2 D5:2"], notes={"a0": {"lyric": "Snow"}, "a1": {"lyric": "falls"}})
    told = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)]).notices
    assert told == ("not in the score: syllables of text (no voice has their notes): 2",)
    assert make_score(sketch, players("soprano"), [whole(sketch, "soprano", 1)]).notices == ()
