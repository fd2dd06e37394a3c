"""Written cues: words of the trade in four languages, where they hold, and what they ask the solver for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.brief import Brief, Direction
from autoorch.lineup import parse_lineup, resolve
from autoorch.roles import read_roles
from autoorch.roles.cues import heeded
from autoorch.roles.cuewords import understand, vocabulary
from autoorch.roles.edit import parse_reading
from autoorch.roles.told import reading_text
from autoorch.sketch.model import Mark, Sketch
from autoorch.tables import load_tables
from tests.roles.support import TICKS, sketch, with_marks

TABLES = load_tables()
WORDS = vocabulary(TABLES)
ROMANTIC = parse_lineup("romantic", TABLES)
BAR = 4 * TICKS


# The cues of the trade's lists (common practice).
@pytest.mark.parametrize(
    ("text", "names", "octave", "technique"),
    [
        ("Hns", ["Horns"], None, ""),
        ("2 Fl 8va", ["Flutes 1-2"], 1, ""),
        ("+ Vc", ["Violoncellos"], None, ""),
        ("Str. trem.", ["Strings"], None, "trem"),
        ("solo Cl", ["Clarinet 1"], None, "solo"),
        ("pizz.", [], None, "pizz"),
        ("con sord.", [], None, "con sord"),
        ("Tpts a3", ["Trumpets"], None, "unis"),
        ("Picc 15ma", ["Piccolos"], 2, ""),
        ("Fl., Ob.", ["Flutes", "Oboes"], None, ""),
        ("Hns 1-2", ["Horns 1-2"], None, ""),
        ("Vln I", ["Violin 1"], None, ""),
        ("1. Fl.", ["Flute 1"], None, ""),
        ("Hr. 1.2", ["Horns 1-2"], None, ""),
        ("2 Klar. u. Fg.", ["Clarinets 1-2", "Bassoons"], None, ""),
        ("Bratschen mit Dämpfer", ["Violas"], None, "con sord"),
        ("Holzbl.", ["Woodwind"], None, ""),
        ("Kb. gezupft", ["Double basses"], None, "pizz"),
        ("3 Cors", ["Horns 1-3"], None, ""),
        ("cordes, avec sourdines", ["Strings"], None, "con sord"),
        ("bois", ["Woodwind"], None, ""),
        ("archi pizz.", ["Strings"], None, "pizz"),
        ("2 trombe", ["Trumpets 1-2"], None, ""),
        ("ottoni", ["Brass"], None, ""),
        ("Vle div. a 3", ["Violas"], None, "div a 3"),
        ("Vlns div.", ["Violins"], None, "div"),
        ("Hns stopped", ["Horns"], None, "stopped"),
        ("Hns cuivré", ["Horns"], None, "cuivre"),
        ("Hp. gliss.", ["Harp"], None, "gliss"),
        ("Vla ord.", ["Violas"], None, "ord"),
        ("Vc. nat.", ["Violoncellos"], None, "ord"),
        ("Hr. schmetternd", ["Horns"], None, "cuivre"),
        ("Fl. Flatterz.", ["Flutes"], None, "flz"),
        ("Tpts fluttertongue", ["Trumpets"], None, "flz"),
        ("2 Fl. frull.", ["Flutes 1-2"], None, "flz"),
        ("2 Htbois", ["Oboes 1-2"], None, ""),
        ("Tromp. avec sourdine", ["Trumpets"], None, "con sord"),
        ("Vlles, C.B. pizz.", ["Violoncellos", "Double basses"], None, "pizz"),
        ("gr. Tr.", ["Bass Drum"], None, ""),
        ("Engl. Horn", ["Cors anglais"], None, ""),
        ("Pos. m. Dpf.", ["Trombones"], None, "con sord"),
        ("altos au chevalet", ["Violas"], None, "sul pont"),
        ("Vln I sul G", ["Violin 1"], None, "sul g"),
        ("Timp. roll", ["Timpani"], None, "trem"),
        ("Pk. Wirbel", ["Timpani"], None, "trem"),
    ],
)
def test_words_of_the_trade(text: str, names: list[str], octave: int | None, technique: str) -> None:
    found = understand(text, WORDS, TABLES)
    assert found.understood
    assert (found.names, found.octave, found.technique) == (names, octave, technique)
    assert all(resolve(ROMANTIC, name) for name in names)


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("no brass", ["Brass"]),
        ("w/o Hns", ["Horns"]),
        ("sans cuivres", ["Brass"]),
        ("ohne Pos.", ["Trombones"]),
        ("senza ottoni", ["Brass"]),
        ("Str. tacet", ["Strings"]),
        ("Hr. u. Trp. schweigen", ["Horns", "Trumpets"]),
    ],
)
def test_words_for_who_is_to_rest(text: str, names: list[str]) -> None:
    found = understand(text, WORDS, TABLES)
    assert found.understood and found.silent
    assert found.names == names


def test_mutes_that_come_off_silence_nobody() -> None:
    assert not understand("Vln sans sourd.", WORDS, TABLES).silent
    assert not understand("Str. senza sord.", WORDS, TABLES).silent


def test_who_is_to_rest_is_avoided_by_all_roles() -> None:
    read = cued((0, "sans cuivres"), (4, "Hns"))
    reading = read_roles(read)
    brief, missing = heeded(Brief(), read, reading, ROMANTIC, TABLES)
    assert [(d.role, d.avoid, d.prefer) for d in brief.directions] == [("", ("Brass",), ()), ("melody", (), ("Horns",))]
    assert not missing and not [query for query in reading.queries if "not understood" in query]


@pytest.mark.parametrize("text", ["tacet", "no", "Hns tacet pizz.", "ohne Titel"])
def test_rest_for_nobody_or_with_something_to_play_is_no_order(text: str) -> None:
    assert not understand(text, WORDS, TABLES).understood


@pytest.mark.parametrize("text", ["dolce", "espr.", "poco a poco cresc.", "una corda", "piano", "ten.", "rit.", "Trio"])
def test_words_for_the_player_are_no_cues(text: str) -> None:
    assert not understand(text, WORDS, TABLES).speaks


@pytest.mark.parametrize("text", ["Hp fill", "fills", "as before", "Hns, like a choir"])
def test_what_is_not_understood_is_a_cue_all_the_same(text: str) -> None:
    found = understand(text, WORDS, TABLES)
    assert found.speaks and not found.understood


def cued(*texts: tuple[float, str]) -> Sketch:
    """Sixteen bars of tune and bass with words over them, by bar from 0."""
    rows = [(4.0 * bar + beat, 1.0, name) for bar in range(16) for beat, name in enumerate(("C5", "E5", "D5", "G4"))]
    rows += [(4.0 * bar, 4.0, "C3") for bar in range(16)]
    marks = (Mark("words", round(bar * BAR), round(bar * BAR), 0, text) for bar, text in texts)
    return with_marks(sketch(*rows, bars=16), *marks)


def test_a_cue_holds_to_the_next_one_or_to_the_phrase_s_end() -> None:
    read = cued((0, "Hns"), (1, "solo Cl"))
    reading = read_roles(read)
    first, second = reading.cues
    assert (first.start, first.end, second.start) == (0, BAR, BAR)
    assert second.end == reading.phrases[0].end
    assert str(first.directions[0]) == "bars 1, melody: prefer Horns (sketch, bar 1)"


def test_a_way_of_playing_does_not_end_a_cue_for_players() -> None:
    reading = read_roles(cued((0, "Str"), (1, "pizz."), (2, "arco")))
    players, plucked, bowed = reading.cues
    assert players.end == reading.phrases[0].end
    assert (plucked.start, plucked.end, bowed.start) == (BAR, 2 * BAR, 2 * BAR)
    assert {direction.technique for direction in plucked.directions} == {"pizz"}


def test_a_group_takes_all_roles_of_its_staff() -> None:
    (cue,) = read_roles(cued((0, "Str. trem."))).cues
    assert [direction.role for direction in cue.directions] == ["melody", "bass"]


def test_tutti_is_a_weight() -> None:
    read = cued((0, "tutti"))
    reading = read_roles(read)
    brief, missing = heeded(Brief(), read, reading, ROMANTIC, TABLES)
    assert [shape.weight for shape in brief.shapes] == [1.0] and not missing


def test_the_brief_comes_after_and_absent_players_are_told() -> None:
    read = cued((0, "Sax"), (4, "Hns"))
    own = Direction(role="melody", avoid=("Horns",))
    reading = read_roles(read)
    brief, missing = heeded(Brief(directions=(own,)), read, reading, ROMANTIC, TABLES)
    assert [d.prefer for d in brief.directions] == [("Horns",), ()] and brief.directions[-1] == own
    assert len(missing) == 1 and missing[0].startswith("sketch, bar 1: ") and "Alto saxophones" in missing[0]


def test_what_is_not_understood_is_listed() -> None:
    reading = read_roles(cued((8, "Hp fill")))
    assert reading.cues[0].directions == () and reading.cues[0].text == "Hp fill"
    assert 'bar 9: the cue "Hp fill" was not understood' in reading.queries


def test_cues_go_out_and_come_back_and_can_be_mended() -> None:
    read = cued((0, "2 Fl 8va"), (4, "Str. pizz."), (8, "Hp fill"), (12, "tutti"))
    reading = read_roles(read)
    text = reading_text(reading, read)
    assert parse_reading(text, read) == reading
    mended = text.replace('text = "Hp fill"', 'text = "Hp fill"\nasks = ["melody prefer Harp"]')
    cue = next(cue for cue in parse_reading(mended, read).cues if cue.text == "Hp fill")
    assert cue.directions[0].prefer == ("Harp",) and cue.directions[0].origin == "sketch, bar 9"


def test_transposing_moves_no_cue() -> None:
    read = cued((0, "Hns"), (5, "Fl"))
    higher = replace(read, notes=tuple(replace(n, pitch=n.pitch.transposed(1, 2)) for n in read.notes))
    assert read_roles(higher).cues == read_roles(read).cues
