"""The reading as a whole: every note once, lines that can be played, nothing that depends on key or note values."""

from __future__ import annotations

import warnings
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from autoorch.roles import read_roles
from autoorch.roles.edit import check_reading
from autoorch.roles.parameters import parameters
from autoorch.roles.texture import Texture
from autoorch.roles.voices import in_voices, voices_table
from autoorch.tables import load_tables
from tests.roles.support import PIECES, doubled, piece, sketch, strands, transposed

each = pytest.mark.parametrize("name", PIECES)
NAMES = ("C3", "E3", "G3", "C4", "D4", "E4", "G4", "A4", "B4", "C5", "E5")
ROWS = st.lists(
    st.tuples(st.integers(0, 14).map(lambda n: n / 2), st.integers(1, 6).map(lambda n: n / 2), st.sampled_from(NAMES)),
    min_size=1,
    max_size=30,
)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(ROWS)
def test_any_notes_are_read_whole(rows: list[tuple[float, float, str]]) -> None:
    read = sketch(*rows, bars=3)
    check_reading(read_roles(read), read)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(ROWS, st.sampled_from([(1, 2), (2, 3), (3, 5), (-7, -12)]))
def test_any_notes_are_read_alike_in_another_key(rows: list[tuple[float, float, str]], way: tuple[int, int]) -> None:
    read = transposed(sketch(*rows, bars=3), 1, 2)  # without sharps and flats a signature may just be missing
    one, other = read_roles(read), read_roles(transposed(read, *way))
    assert strands(one) == strands(other)
    assert [(p.start, p.end, p.label) for p in one.phrases] == [(p.start, p.end, p.label) for p in other.phrases]
    assert [(c.start, c.numeral) for c in one.chords] == [(c.start, c.numeral) for c in other.chords]
    assert (one.entries, one.leaders) == (other.entries, other.leaders)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(ROWS)
def test_any_notes_are_read_alike_in_longer_values(rows: list[tuple[float, float, str]]) -> None:
    read = sketch(*rows, bars=3)
    assert strands(read_roles(read)) == strands(read_roles(doubled(read)))


@settings(max_examples=60, deadline=None, derandomize=True)
@given(ROWS)
def test_no_two_notes_of_a_line_or_voice_of_any_notes_overlap(rows: list[tuple[float, float, str]]) -> None:
    read = sketch(*rows, bars=3)
    tables = load_tables()
    tones = Texture(read).tones
    voices = in_voices(tones, voices_table(tables), parameters(tables)["lines"])
    assert sorted(tone.index for voice in voices for tone in voice) == list(range(len(rows)))
    assert [(a, b) for voice in voices for a, b in pairwise(voice) if b.onset < a.end] == []
    lines = [line.notes for strand in read_roles(read).strands for line in strand.lines]
    assert sorted(note for line in lines for note in line) == sorted(read.by_id)
    ordered = [sorted((read.by_id[note] for note in line), key=lambda n: n.onset) for line in lines]
    assert [(a.id, b.id) for line in ordered for a, b in pairwise(line) if b.onset < a.end] == []


@each
def test_no_two_notes_of_a_voice_overlap(name: str) -> None:
    read = piece(name)
    tables = load_tables()
    tones = Texture(read).tones
    voices = in_voices(tones, voices_table(tables), parameters(tables)["lines"])
    assert sorted(tone.index for voice in voices for tone in voice) == list(range(len(tones)))
    assert len(voices) < len(tones)
    for voice in voices:
        assert [b.onset - a.end for a, b in pairwise(voice) if b.onset < a.end] == []


@each
def test_every_note_stands_in_one_line_and_phrases_cover_the_piece(name: str) -> None:
    read = piece(name)
    reading = read_roles(read)
    check_reading(reading, read)
    assert {"melody", "bass"} <= {strand.role for strand in reading.strands}
    assert max(len(strand.lines) for strand in reading.strands) <= 4


@each
def test_phrases_have_two_to_eight_bars_or_so(name: str) -> None:
    read = piece(name)
    bar = max(b.length for b in read.bars)
    phrases = read_roles(read).phrases
    assert (phrases[0].start, phrases[-1].end) == (0, read.end)
    assert all(p.end - p.start <= 8 * bar for p in phrases)


@each
def test_chords_follow_each_other(name: str) -> None:
    chords = read_roles(piece(name)).chords
    assert chords[0].start == 0 and chords[-1].end == piece(name).end
    assert all(a.end == b.start for a, b in pairwise(chords))


@each
def test_transposing_changes_nothing_but_the_key(name: str) -> None:
    one, other = (read_roles(read) for read in (piece(name), transposed(piece(name), 2, 3)))
    assert strands(one) == strands(other)
    assert [(p.start, p.end, p.label) for p in one.phrases] == [(p.start, p.end, p.label) for p in other.phrases]
    assert [c.numeral for c in one.chords] == [c.numeral for c in other.chords]
    assert other.key == ((one.key[0] + 3) % 12, one.key[1])


@each
def test_doubling_the_note_values_changes_no_role(name: str) -> None:
    assert strands(read_roles(piece(name))) == strands(read_roles(doubled(piece(name))))


def test_notes_at_the_ends_of_the_keyboard_are_read_without_a_warning() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert read_roles(sketch((0, 4, "C9"), (0, 4, "C0"))).strands


def test_the_sketch_s_own_dynamics_win_and_the_rest_is_told() -> None:
    reading = read_roles(sketch((0, 1, "C5"), (1, 1, "D5"), (2, 2, "E5"), (0, 4, "C3")))
    assert all(phrase.dynamic_proposed for phrase in reading.phrases)
    assert reading.tempo_proposed
    assert any("tempo" in notice for notice in reading.notices)
