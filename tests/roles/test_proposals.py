"""What is proposed where the sketch is silent: tempo, dynamic, character; and that the sketch's own words win."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from autoorch.instruments import DYNAMICS
from autoorch.roles import read_roles
from autoorch.roles.edit import parse_reading
from autoorch.roles.model import CHARACTERS
from autoorch.roles.proposals import proposals, says
from autoorch.roles.told import reading_text
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Mark, Sketch
from autoorch.tables import load_tables
from tests.roles.support import TICKS, chords, piece, sketch, with_marks

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def bare(read: Sketch, *kinds: str) -> Sketch:
    """The sketch without such marks."""
    return replace(read, marks=tuple(mark for mark in read.marks if mark.kind not in kinds))


def example(name: str) -> Sketch:
    return read_sketch(EXAMPLES / name / "sketch.musicxml")


def tune(*lengths: float, bars: int = 8) -> Sketch:
    """A tune that goes up and down in these lengths, over a bass note a bar."""
    names, rows, now, k = ("C5", "D5", "E5", "F5", "G5", "F5", "E5", "D5"), [], 0.0, 0
    while now < 4 * bars:
        length = lengths[k % len(lengths)]
        rows.append((now, length, names[k % len(names)]))
        now, k = now + length, k + 1
    return sketch(*rows, *((4.0 * bar, 4.0, "C3") for bar in range(bars)), bars=bars)


def test_the_sketch_s_own_tempo_wins() -> None:
    reading = read_roles(with_marks(tune(1), Mark("tempo", 0, 0, -1, "77")))
    assert (reading.tempo, reading.tempo_proposed) == (77.0, False)


@pytest.mark.parametrize(("word", "low", "high"), [("Adagio", 50, 72), ("Allegro", 120, 144), ("Lebhaft", 126, 152)])
def test_a_tempo_word_is_a_tempo(word: str, low: float, high: float) -> None:
    """Ranges as metronomes print them."""
    reading = read_roles(with_marks(tune(1), Mark("tempo", 0, 0, -1, "", word)))
    assert low <= reading.tempo <= high and reading.tempo_proposed
    assert word in reading.notices[0]


def test_longer_notes_get_a_quicker_beat() -> None:
    assert read_roles(tune(0.25)).tempo < read_roles(tune(1)).tempo < read_roles(tune(2)).tempo + 1


def test_the_sketch_s_own_dynamics_win() -> None:
    phrases = read_roles(example("lighthouse-waltz")).phrases
    assert not any(phrase.dynamic_proposed for phrase in phrases)
    assert {phrase.dynamic for phrase in phrases} >= {"p", "mf", "ff"}


def test_velocities_speak_where_they_differ() -> None:
    read = tune(1)
    notes = tuple(replace(n, velocity=40 if n.onset < 16 * TICKS else 110) for n in read.notes)
    levels = [(p.start, p.dynamic, p.dynamic_proposed) for p in read_roles(replace(read, notes=notes)).phrases]
    assert levels == [(0, "p", True), (16 * TICKS, "ff", True)]


def test_what_is_fuller_and_higher_is_proposed_louder() -> None:
    thin = ("C3 C5", "D3 D5", "E3 E5", "C3 C5")
    full = ("C2 C3 E4 G4 C5 E5 G5 C6", "G2 G3 D5 G5 B5 D6", "C2 C3 E4 G4 C5 E5 G5 C6", "C2 C3 G4 C5 E5 G5 C6 E6")
    phrases = read_roles(chords(*thin * 2, *full * 2)).phrases
    assert all(phrase.dynamic_proposed for phrase in phrases)
    assert DYNAMICS.index(phrases[0].dynamic) < DYNAMICS.index(phrases[-1].dynamic)


def test_a_short_piece_without_a_mark_is_nowhere_very_loud() -> None:
    """Mozart, K. 545, twelve bars without a dynamic: its last phrase is the fullest and highest, and no tutti."""
    read = piece("mozart/k545/movement1_exposition")
    phrases = read_roles(read).phrases
    assert len(read.bars) == 12 and all(phrase.dynamic_proposed for phrase in phrases)
    assert {phrase.dynamic for phrase in phrases} == {"mf", "f"}


def test_the_highest_note_of_a_first_page_is_not_what_a_cue_rises_to() -> None:
    """The C major prelude (BWV 846), without a mark: its highest note lies in bar 5 of 34."""
    phrases = read_roles(piece("bach/bwv846")).phrases
    levels = [DYNAMICS.index(phrase.dynamic) for phrase in phrases]
    assert all(phrase.dynamic_proposed for phrase in phrases)
    assert levels.index(max(levels)) >= len(levels) // 2


# Our own sketches, without the words that say it.
@pytest.mark.parametrize(
    ("name", "character"),
    [("paper-boats-march", "march"), ("stone-chapel-chorale", "hymn"), ("lighthouse-waltz", "dance")],
)
def test_the_character_is_proposed_from_the_notes(name: str, character: str) -> None:
    phrases = read_roles(bare(example(name), "words", "tempo", "dynamic")).phrases
    assert all(phrase.character_proposed for phrase in phrases)
    assert [p.character for p in phrases].count(character) * 2 >= len(phrases)


def test_words_say_the_character() -> None:
    phrase = read_roles(with_marks(tune(1), Mark("words", 0, 0, 0, "Tempo di marcia"))).phrases[0]
    assert (phrase.character, phrase.character_proposed) == ("march", False)


@pytest.mark.parametrize(
    ("text", "word", "found"),
    [("Très EXPRESSIF", "expressif", True), ("Tänze", "tanz*", True), ("marc.", "march", False)],
)
def test_words_are_compared_folded(text: str, word: str, found: bool) -> None:
    assert says(text, [word]) is found


def test_a_proposal_can_be_made_the_sketch_s_own() -> None:
    read = tune(1)
    text = reading_text(read_roles(read), read)
    old = next(line for line in text.splitlines() if line.startswith("dynamic = "))
    mended = text.replace(f"{old}\ndynamic_proposed = true", 'dynamic = "ff"\ndynamic_proposed = false', 1)
    phrase = parse_reading(mended, read).phrases[0]
    assert (phrase.dynamic, phrase.dynamic_proposed) == ("ff", False)


def test_the_table_has_a_row_for_each_character() -> None:
    assert set(proposals(load_tables())["character"]) == set(CHARACTERS)
