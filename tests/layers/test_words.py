"""Cues in the sketch: who they mean, where they hold, what is none."""

from __future__ import annotations

import pytest

from autoorch.brief import Brief
from autoorch.layers.words import cued, with_words
from autoorch.lineup import Lineup, parse_lineup
from autoorch.roles.model import Phrase
from autoorch.sketch.model import Mark, Sketch
from autoorch.tables import load_tables
from tests.support.hand import make_sketch, read_hand

TUNE = "C5:4 D5:4 E5:4 F5:4 G5:4 A5:4 B5:4 C6:4"
BASS = "C3:4 D3:4 E3:4 F3:4 G3:4 A3:4 B3:4 C4:4"


def lineup() -> Lineup:
    return parse_lineup("studio", load_tables())


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("Ob.", ["Oboe 1"]),
        ("Cl. solo", ["Clarinet 1"]),
        ("Fl. 2", ["Flute 2"]),
        ("Hns 1, 3", ["Horn 1", "Horn 3"]),
        ("Vc", ["Violoncellos"]),
        ("Strings", ["Violins I", "Violins II", "Violas", "Violoncellos", "Double basses"]),
        ("ten.", []),
        ("dolce", []),
        ("tutti", []),
        ("cresc.", []),
    ],
)
def test_who_a_cue_means(text: str, names: list[str]) -> None:
    assert [player.name for player in cued(text, lineup())] == names


def sketch(*marks: Mark) -> Sketch:
    return make_sketch([TUNE, BASS], marks=marks)


def directions(*marks: Mark) -> list[str]:
    made = sketch(*marks)
    half = made.bars[4].onset
    reading = read_hand(made, ["melody", "bass"]).with_(phrases=(Phrase(0, half), Phrase(half, made.end)))
    return [str(direction) for direction in with_words(Brief(), made, reading, lineup()).directions]


def words(bar: int, text: str, staff: int = 0) -> Mark:
    onset = sketch().bars[bar - 1].onset
    return Mark("words", onset, onset, staff, text)


def test_a_cue_holds_for_its_staff_to_the_end_of_the_phrase() -> None:
    assert directions(words(2, "Ob.")) == ["bars 2-4, melody: prefer Oboe 1"]
    assert directions(words(5, "Vc", 1)) == ["bars 5-8, bass: prefer Violoncellos"]


def test_a_cue_ends_where_the_next_on_its_staff_begins() -> None:
    assert sorted(directions(words(1, "Ob."), words(2, "Vc", 1), words(3, "Fl. 1"))) == [
        "bars 1-2, melody: prefer Oboe 1",
        "bars 2-4, bass: prefer Violoncellos",
        "bars 3-4, melody: prefer Flute 1",
    ]


def test_the_same_is_said_once() -> None:
    made = sketch(words(2, "Ob."))
    reading = read_hand(made, ["melody", "bass"])
    once = with_words(Brief(), made, reading, lineup())
    assert len(once.directions) == 1
    assert with_words(once, made, reading, lineup()) == once


def test_without_cues_the_brief_stays() -> None:
    brief = Brief()
    made = sketch(words(2, "dolce"))
    assert with_words(brief, made, read_hand(made), lineup()) is brief
