"""Phrases and sections: known forms, joints that musicians mark, and laws of key and note values."""

from __future__ import annotations

import copy
from dataclasses import replace
from itertools import groupby
from pathlib import Path

import pytest

from autoorch.pitch import from_midi, parse
from autoorch.roles import read_roles
from autoorch.roles.form import form_of
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Mark, Sketch
from tests.roles.support import PIECES, TICKS, doubled, piece, sketch, transposed, with_marks

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TUNE = ("C5", "E5", "G5", "E5", "F5", "A5", "G5", "G5", "E5", "D5", "C5", "D5", "E5", "C5", "D5", "D5")
OTHER = ("G4", "G4", "A4", "B4", "C5", "B4", "A4", "A4", "F4", "F4", "G4", "A4", "B4", "A4", "G4", "G4")


def example(name: str) -> Sketch:
    return read_sketch(EXAMPLES / name / "sketch.musicxml")


def letters(phrases: tuple[Phrase, ...]) -> list[str]:
    """The sections' letters without primes, in order."""
    return [section.rstrip("'") for section, _ in groupby(phrase.section for phrase in phrases)]


def starts(read: Sketch, reading: Reading) -> list[str]:
    return [read.bar_at(phrase.start).number for phrase in reading.phrases]


def song(*parts: tuple[tuple[str, ...], int, str]) -> Sketch:
    """Tunes in crotchets, each four bars, transposed by so many semitones, over a bass note a bar."""
    rows: list[tuple[float, float, str]] = []
    for k, (tune, up, bass) in enumerate(parts):
        for n, name in enumerate(tune):
            long = n == len(tune) - 2
            if n == len(tune) - 1:
                continue
            pitch = _up(name, up)
            rows.append((16.0 * k + n, 2.0 if long else 1.0, pitch))
        rows += [(16.0 * k + 4 * bar, 4.0, bass) for bar in range(4)]
    return sketch(*rows, bars=4 * len(parts))


def _up(name: str, semitones: int) -> str:
    return str(from_midi(parse(name).midi + semitones, 2))


def test_the_waltz_is_a_song_with_a_middle() -> None:
    reading = read_roles(example("lighthouse-waltz"))
    assert form_of(reading.phrases) == "A A' B A''"


def test_four_bars_are_a_phrase_where_nothing_says_otherwise() -> None:
    reading = read_roles(song((TUNE, 0, "C3"), (OTHER, 0, "G2"), (TUNE, 0, "C3"), (OTHER, 0, "G2")))
    assert [p.start for p in reading.phrases] == [0, 16 * TICKS, 32 * TICKS, 48 * TICKS]
    assert [p.label for p in reading.phrases] == ["a", "b", "a", "b"]


@pytest.mark.parametrize(
    ("up", "bass"),
    [(0, "A2"), (7, "G2"), (2, "D3")],
    ids=["other bass", "in the dominant", "a tone higher"],
)
def test_material_is_known_again_in_another_key_and_with_another_bass(up: int, bass: str) -> None:
    reading = read_roles(song((TUNE, 0, "C3"), (OTHER, 0, "G2"), (TUNE, up, bass), (OTHER, 0, "C3")))
    assert [p.label.rstrip("'") for p in reading.phrases] == ["a", "b", "a", "b"]
    assert reading.phrases[2].label != "a" or not up


def test_other_material_has_another_letter() -> None:
    reading = read_roles(song((TUNE, 0, "C3"), (OTHER, 0, "C3")))
    assert [p.label for p in reading.phrases] == ["a", "b"]


# Forms as any listener tells them; bars of music21's corpus.
def test_a_rondo_s_tune_comes_back() -> None:
    read = piece("mozart/k155/movement3")
    reading = read_roles(read)
    assert letters(reading.phrases)[0] in letters(reading.phrases)[2:]
    tune = {starts(read, reading)[k] for k, phrase in enumerate(reading.phrases) if phrase.label.startswith("a")}
    assert {"0", "66"} <= tune


def test_a_rag_has_four_strains() -> None:
    """The form that every description of the piece gives (AABBACCDD, repeats written as repeats)."""
    assert form_of(read_roles(piece("joplin/maple_leaf_rag")).phrases) == "A B A C D"


def test_a_polonaise_brings_its_eight_bars_back_after_a_middle() -> None:
    read = piece("schumann_clara/polonaise_op1n1")
    reading = read_roles(read)
    by_bar = dict(zip(starts(read, reading), [p.label.rstrip("'") for p in reading.phrases], strict=True))
    assert by_bar["1"] == by_bar["13"] and by_bar["5"] == by_bar["17"]
    assert by_bar["9"] not in (by_bar["1"], by_bar["5"])


@pytest.mark.parametrize("work", ["bach/bwv66.6", "bach/bwv269", "bach/bwv302"])
def test_a_chorale_s_lines_end_at_its_fermatas(work: str) -> None:
    read = piece(work)
    ends = {note.end for note in read.notes if "fermata" in note.marks and note.end < read.end}
    joints = {phrase.start for phrase in read_roles(read).phrases[1:]}
    assert len(ends & joints) >= 0.8 * len(ends)


def test_marks_of_the_sketch_cut() -> None:
    plain = song((TUNE, 0, "C3"), (TUNE, 0, "C3"))
    odd = with_marks(plain, Mark("rehearsal", 12 * TICKS, 12 * TICKS, -1, "A"))
    assert 12 * TICKS not in {p.start for p in read_roles(plain).phrases}
    assert 12 * TICKS in {p.start for p in read_roles(odd).phrases}


def test_a_rest_of_the_tune_cuts() -> None:
    plain = song((TUNE[:8] + OTHER[:8], 0, "C3"), (OTHER[8:] + TUNE[:8], 0, "C3"))
    gone = {note.id for note in plain.notes if 22 * TICKS <= note.onset < 24 * TICKS and note.pitch.midi > 60}
    rests = replace(copy.copy(plain), notes=tuple(n for n in plain.notes if n.id not in gone))
    assert 24 * TICKS not in {p.start for p in read_roles(plain).phrases}
    assert 24 * TICKS in {p.start for p in read_roles(rests).phrases}


@pytest.mark.parametrize("name", PIECES)
def test_neither_key_nor_note_values_change_the_form(name: str) -> None:
    def told(read: Sketch, factor: int) -> list[tuple[int, int, str, str, str]]:
        phrases = read_roles(read).phrases
        return [(factor * p.start, factor * p.end, p.label, p.section, p.cadence) for p in phrases]

    assert told(piece(name), 2) == told(doubled(piece(name)), 1)
    assert told(piece(name), 1) == told(transposed(piece(name), 3, 5), 1)
