"""Chords, keys, numerals, closes and foreign notes: small cases of any harmony book, and published analyses."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import mir_eval
import pytest
from music21 import converter, corpus

from autoorch.errors import TableError
from autoorch.roles import read_roles
from autoorch.roles.chords import all_chords, from_beats
from autoorch.roles.harmony import harmony_table
from autoorch.roles.model import Reading
from autoorch.roles.names import key_name, key_of
from autoorch.roles.numerals import numeral, tendency_of
from autoorch.roles.symbols import read_symbol
from autoorch.roles.texture import Texture
from autoorch.roles.told import reading_text
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Mark
from autoorch.tables import load_tables
from tests.roles.support import TICKS, chords, piece, sketch, with_marks

TABLE = harmony_table(load_tables())
C, A_MINOR = (0, "major"), (9, "minor")


def numerals(reading: Reading) -> list[str]:
    return [chord.numeral for chord in reading.chords]


# Names of chords: common practice, as in music21's RomanText files.
@pytest.mark.parametrize(
    ("root", "kind", "key", "bass", "name"),
    [
        (0, "major", C, 0, "I"),
        (2, "minor", C, 5, "ii6"),
        (7, "dominant seventh", C, 11, "V65"),
        (7, "dominant seventh", C, 5, "V42"),
        (2, "major", C, 2, "V/V"),
        (2, "dominant seventh", C, 6, "V65/V"),
        (4, "dominant seventh", C, 4, "V7/vi"),
        (6, "diminished seventh", C, 6, "viio7/V"),
        (11, "half-diminished", C, 11, "viiø7"),
        (5, "minor", C, 5, "iv"),
        (8, "major", C, 8, "bVI"),
        (1, "major", C, 5, "bII6"),
        (8, "dominant seventh", C, 8, "Ger65"),
        (0, "major seventh", C, 0, "IM7"),
        (9, "minor", A_MINOR, 9, "i"),
        (4, "major", A_MINOR, 4, "V"),
        (8, "diminished seventh", A_MINOR, 8, "#viio7"),
        (5, "major", A_MINOR, 9, "VI6"),
    ],
)
def test_a_chord_is_named_in_its_key(root: int, kind: str, key: tuple[int, str], bass: int, name: str) -> None:
    assert numeral(root, kind, key, bass, TABLE) == name


def test_a_leading_note_and_a_seventh_must_move_on() -> None:
    assert set(tendency_of(7, "dominant seventh", C, TABLE)) == {11, 5}
    assert tendency_of(7, "major", C, TABLE) == (11,)
    assert tendency_of(2, "major", C, TABLE) == (6,)
    assert tendency_of(0, "major", C, TABLE) == ()


def test_a_cadence_in_c() -> None:
    reading = read_roles(chords("C3 E4 G4 C5", "F3 F4 A4 C5", "G3 F4 B4 D5", "C3 E4 G4 C5"))
    assert numerals(reading) == ["I", "IV", "V7", "I"]
    assert reading.key == C
    assert reading.phrases[-1].cadence == "authentic"
    assert [m.what for m in reading.moments if m.kind == "cadence"] == ["authentic"]


@pytest.mark.parametrize(
    ("last", "kind"),
    [
        (("G3 D4 G4 B4", "C3 E4 G4 C5"), "authentic"),
        (("C3 E4 G4 C5", "G3 D4 G4 B4"), "half"),
        (("G3 D4 G4 B4", "A3 C4 E4 C5"), "deceptive"),
        (("G3 F4 B4 D5", "C3 E4 G4 C5", "F3 C4 F4 A4", "C3 C4 G4 E5"), "plagal"),
    ],
)
def test_closes(last: tuple[str, ...], kind: str) -> None:
    opening = ("C3 E4 G4 C5", "F3 F4 A4 C5", "G3 F4 B4 D5", "C3 E4 G4 C5", "F3 F4 A4 C5", "D3 F4 A4 D5")
    assert read_roles(chords(*opening, *last)).phrases[-1].cadence == kind


def test_a_major_triad_on_the_second_degree_is_a_moment() -> None:
    reading = read_roles(
        chords("C3 E4 G4 C5", "F3 F4 A4 C5", "D3 F#4 A4 D5", "G3 F4 B4 D5", "C3 E4 G4 C5", "F3 F4 A4 C5", "C3 E4 G4 C5")
    )
    secondary = next(chord for chord in reading.chords if chord.root == 2)
    assert (secondary.numeral, secondary.borrowed, secondary.key) == ("V/V", True, C)
    assert (secondary.start, "V/V") in {(m.onset, m.what) for m in reading.moments if m.kind == "borrowed"}


def test_foreign_notes_say_what_they_do() -> None:
    rows = [(0.0, 4.0, "C3"), (0.0, 4.0, "E4"), (0.0, 4.0, "G4")]
    rows += [(0.0, 1.5, "C5"), (1.5, 0.5, "D5"), (2.0, 1.5, "E5"), (3.5, 0.5, "F5")]
    rows += [(4.0, 4.0, "C3"), (4.0, 4.0, "G4"), (4.0, 4.0, "E5")]
    reading = read_roles(sketch(*rows))
    kinds = {str(sketch(*rows).by_id[note].pitch): kind for chord in reading.chords for note, kind in chord.foreign}
    assert kinds == {"D5": "passing", "F5": "neighbour"}


def test_an_arpeggio_keeps_its_bass() -> None:
    rows = [(k + n / 2, 0.5, p) for k in (0, 2) for n, p in enumerate(("C3", "G3", "E4", "G3"))]
    assert numerals(read_roles(sketch(*rows, (0, 4, "C5"), bars=1))) == ["I"]


@pytest.mark.parametrize(
    ("text", "chord"),
    [("Am7/G", (9, "minor seventh")), ("F#dim7", (6, "diminished seventh")), ("Bb", (10, "major")), ("N.C.", None)],
)
def test_chord_symbols(text: str, chord: tuple[int, str] | None) -> None:
    assert read_symbol(text, TABLE["symbol"]) == chord


def test_a_chord_symbol_decides_what_the_notes_leave_open() -> None:
    open_fifth = sketch((0, 4, "C3"), (0, 4, "G4"), bars=1)
    assert read_roles(open_fifth).chords[0].third != 3
    written = with_marks(open_fifth, Mark("chord", 0, 0, -1, "Cm"))
    assert read_roles(written).chords[0].third == 3


def test_whole_chords_are_believed_where_a_symbol_says_otherwise() -> None:
    read = with_marks(chords("C3 E4 G4 C5", "D3 F4 A4 D5"), Mark("chord", 0, 0, 0, "E"))
    assert numerals(read_roles(read)) == ["I", "ii"]


def test_written_symbols_are_the_chords_of_a_tune_alone() -> None:
    """A lead sheet: passing notes over a written chord are no chords of their own."""
    tune = "C5 D5 E5 F5 G5 F5 E5 D5 B4 C5 D5 E5 F5 E5 D5 B4".split()
    wanted = [(0, "C"), (4, "Am7"), (8, "G7"), (12, "Dm")]
    sheet = with_marks(
        sketch(*((k, 1, pitch) for k, pitch in enumerate(tune)), bars=4),
        *(Mark("chord", at * TICKS, at * TICKS, -1, name) for at, name in wanted),
    )
    found = [(chord.start // TICKS, chord.root) for chord in read_roles(sheet).chords]
    assert found == [(0, 0), (4, 9), (8, 7), (12, 2)]


def test_a_symbol_of_an_unknown_kind_is_an_error_of_the_table(tmp_path: Path) -> None:
    text = load_tables().find("harmony").read_text("utf-8").replace('"m" = "minor"', '"m" = "sad"')
    (tmp_path / "harmony.toml").write_text(text, "utf-8")
    with pytest.raises(TableError, match=r"symbol\.m"):
        harmony_table(load_tables(tmp_path))


# RomanText analyses that music21's corpus carries (A. Jones; proofread by D. Tymoczko and H. Robb).
@pytest.mark.parametrize(("file", "work"), [("001", "bach/bwv269"), ("003", "bach/bwv153.1")])
def test_published_numerals(file: str, work: str) -> None:
    path = Path(corpus.__file__).parent / "bach" / "choraleAnalyses" / f"riemenschneider{file}.rntxt"
    read, names = piece(work), "C C# D D# E F F# G G# A A# B".split()
    found = read_roles(read).chords
    keys, right, count = [], 0, 0
    for rn in converter.parse(path, format="romanText").recurse().getElementsByClass("RomanNumeral"):
        point = (Fraction(rn.activeSite.offset) + Fraction(rn.offset) + Fraction(1, 8)) * read.ticks
        mine = next(chord for chord in found if chord.start <= point < chord.end)
        truth = f"{names[rn.key.tonic.pitchClass]} {rn.key.mode}"
        keys.append(mir_eval.key.weighted_score(truth, f"{names[mine.key[0]]} {mine.key[1]}"))
        right += (mine.root, mine.third) == (rn.root().pitchClass, rn.third.pitchClass)
        count += 1
    assert sum(keys) / count > 0.9
    assert right / count > 0.85


def test_a_chord_that_shows_inside_a_beat_begins_with_its_bass() -> None:
    """C major, then F3 alone on the beat and A3 after it; a note that is not of the chord keeps its beginning where it shows."""
    kinds = all_chords(TABLE)
    place = {name: k for k, name in enumerate(kinds.names)}
    spans = [(0, TICKS), (TICKS, TICKS + TICKS // 2), (TICKS + TICKS // 2, 2 * TICKS)]
    path = [place[0, "major"], place[0, "major"], place[5, "major"]]
    for name, found in (("F3", [path[0], path[2], path[2]]), ("E3", path)):
        texture = Texture(sketch((0, 1, "C3"), (1, 0.5, name), (1.5, 0.5, "A3")))
        assert from_beats(texture, spans, path, kinds, 0) == found


@pytest.mark.parametrize(
    ("key", "near", "name"),
    [
        ((8, "minor"), -4, "Ab minor"),
        ((8, "minor"), 4, "G# minor"),
        ((8, "minor"), 0, "G# minor"),
        ((1, "major"), 4, "C# major"),
        ((6, "major"), 0, "Gb major"),
        ((6, "major"), 2, "F# major"),
        ((0, "major"), 7, "C major"),
    ],
)
def test_a_key_is_spelled_as_the_music_around_it(key: tuple[int, str], near: int, name: str) -> None:
    assert key_name(key, near) == name
    assert key_of(name) == key


def test_a_flat_minor_in_a_rag_in_a_flat_is_named_so() -> None:
    read = piece("joplin/maple_leaf_rag")
    text = reading_text(read_roles(read), read)
    assert 'key = "Ab minor"' in text and "G# minor" not in text


@pytest.mark.parametrize(("number", "key"), [(1, "Eb major"), (2, "C major"), (3, "D major"), (4, "C major")])
def test_a_polonaise_is_in_the_key_it_comes_back_to(number: int, key: str) -> None:
    """Clara Schumann, opus 1: after each trio "D.C. al Fine", which is not written out; the first two trios are in other keys."""
    assert key_name(read_roles(piece(f"schumann_clara/polonaise_op1n{number}")).key) == key


def test_an_ostinato_has_a_chord_a_beat_and_no_more() -> None:
    read = read_sketch(Path(__file__).resolve().parents[2] / "examples" / "clockmaker-ostinato" / "sketch.musicxml")
    texture, chords = Texture(read), read_roles(read).chords
    assert len(chords) < 3 * len(read.bars)
    assert sum(not texture.on_beat(chord.start) for chord in chords) <= 1
