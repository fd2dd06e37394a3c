"""Pitches: names, MIDI numbers, spelling that survives transposing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from autoorch.pitch import STEPS, Pitch, from_midi, parse
from autoorch.tables import load_tables

pitches = st.builds(Pitch, st.sampled_from(STEPS), st.integers(-2, 2), st.integers(-1, 9))
intervals = st.sampled_from(sorted({each.transposition for each in load_tables().instruments.values()}))


@pytest.mark.parametrize(
    ("name", "midi"),
    # Middle C = C4 = 60: MIDI 1.0 with the scientific octave (common practice).
    [("C4", 60), ("A4", 69), ("B#3", 60), ("Cb4", 59), ("Bb3", 58), ("Gx2", 45), ("Ebb4", 62), ("C-1", 0), ("G9", 127)],
)
def test_names_have_their_midi_numbers(name: str, midi: int) -> None:
    assert parse(name).midi == midi


@pytest.mark.parametrize("text", ["", "H4", "C", "C#b4", "C####4", "4C", "C4.5", "do4"])
def test_what_is_no_pitch_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="no pitch name"):
        parse(text)


@given(pitches)
def test_a_name_reads_back(pitch: Pitch) -> None:
    assert parse(str(pitch)) == pitch


@given(pitches, st.integers(-3, 3))
def test_octaves_keep_the_letter(pitch: Pitch, octaves: int) -> None:
    moved = pitch.shifted(octaves)
    assert (moved.step, moved.alter, moved.midi) == (pitch.step, pitch.alter, pitch.midi + 12 * octaves)


@given(pitches, intervals)
def test_transposing_sounds_right(pitch: Pitch, interval: tuple[int, int]) -> None:
    moved = pitch.transposed(*interval)
    assert moved.midi == pitch.midi + interval[1]
    assert abs(moved.alter) <= 2


@given(st.builds(Pitch, st.sampled_from(STEPS), st.integers(-1, 1), st.integers(-1, 9)), intervals)
def test_there_and_back_keeps_the_spelling(pitch: Pitch, interval: tuple[int, int]) -> None:
    moved = pitch.transposed(*interval)
    if moved.diatonic == pitch.diatonic + interval[0]:
        assert moved.transposed(-interval[0], -interval[1]) == pitch
    else:
        assert abs(pitch.fifths) > 5, "only the far ends of the line of fifths are respelled"


@given(st.integers(0, 127), st.integers(-7, 7))
def test_spelling_a_number_keeps_it(number: int, near: int) -> None:
    pitch = from_midi(number, near)
    assert pitch.midi == number
    assert abs(pitch.fifths - near) <= 6


@pytest.mark.parametrize(
    ("key", "names"),
    # The seven degrees of C, E and D flat major (common practice); a key of n sharps has its centre at n + 2.
    [(0, "C4 D4 E4 F4 G4 A4 B4"), (4, "E4 F#4 G#4 A4 B4 C#5 D#5"), (-5, "Db4 Eb4 F4 Gb4 Ab4 Bb4 C5")],
)
def test_a_key_spells_its_own_scale(key: int, names: str) -> None:
    for name in names.split():
        assert str(from_midi(parse(name).midi, key + 2)) == name


def test_a_horn_reads_a_fifth_up_and_a_piccolo_an_octave_down() -> None:
    instruments = load_tables().instruments
    assert str(instruments["horn"].written(parse("Eb4"))) == "Bb4"
    assert str(instruments["piccolo"].written(parse("F#6"))) == "F#5"
    assert str(instruments["clarinet_a"].written(parse("F#4"))) == "A4"
    assert str(instruments["alto_saxophone"].written(parse("Db4"))) == "Bb4"
