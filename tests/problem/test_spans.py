"""Where strands are cut: at joints and wide leaps, never for less than a bar where somebody can go on."""

from __future__ import annotations

from itertools import pairwise

from autoorch.problem.feasible import STROKES
from autoorch.problem.spans import cut, fits
from autoorch.tables import load_tables
from tests.support.tiny import BAR, TICKS, line, players, problem, strand


def edges(text: str, *names: str, bars: int = 4, crotchets: float = 1.0, role: str = "melody") -> list[int]:
    data = problem(players(*names), strand("s1", role, line("s1.1", text, crotchets)), bars=bars)
    assert all(a.end == b.start for a, b in pairwise(data.spans))
    return [span.start for span in data.spans[1:]]


def test_a_line_that_leaps_two_octaves_is_two_lines_where_each_has_a_bar() -> None:
    assert edges("C5 D5 E5 F5 " * 2 + "C3 D3 E3 F3 " * 2, "violin", "cello") == [2 * BAR]
    assert edges("C5 D5 E5 F5 " * 2 + "F5 E5 D5 C5 " * 2, "violin", "cello") == []


def test_a_single_note_two_octaves_off_is_not_lent_out_where_one_instrument_has_both() -> None:
    """The last note of four bars lies far below the others: a cello has it, violins alone would not."""
    text = "C5 D5 E5 F5 " * 3 + "E5 D5 C5 {}"
    assert edges(text.format("C3"), "violin", "cello") == []
    assert edges(text.format("C2"), "violin", "horn") == [4 * BAR - TICKS]


def test_a_note_two_octaves_off_is_cut_off_where_it_would_forbid_most_players_the_line() -> None:
    text = "C5 D5 E5 F5 " * 3 + "E5 D5 C5 C3"
    assert edges(text, "violin", "flute", "oboe", "cello") == [4 * BAR - TICKS]


def test_a_few_notes_between_rests_that_keep_a_tune_from_most_are_for_somebody_else() -> None:
    """Semiquavers far below the violins' compass; where celli are two of three nothing is cut, nor for five notes, nor in a tune
    that goes down there by steps, nor in other lines."""
    text, low = "C5 D5 E5 F5 " * 2 + "- D3 C3 - " + "G4 A4 B4 C5 ", "- D3 C3 D3 C3 D3 -"
    assert edges(text, "violin", "violin", "cello", crotchets=0.25) == [9, 12]
    assert edges(text, "cello", "cello", "violin", crotchets=0.25) == []
    assert edges(text.replace("- D3 C3 -", low), "violin", "violin", "cello", crotchets=0.25) == []
    assert edges("C5 A4 F4 D4 B3 G3 F3 G3 B3 D4 F4 A4 ", "violin", "violin", "cello", crotchets=0.25) == []
    assert edges(text, "violin", "violin", "cello", crotchets=0.25, role="bass") == []


def test_a_tune_that_goes_on_in_the_other_hand_is_cut_at_its_leap() -> None:
    """A tenth down to where only the last of three can go; an octave is none."""
    text = "C5 D5 E5 F5 " * 2 + "G4 F4 E4 {} "
    assert edges(text.format("C3") + "D3 E3 F3 G3", "violin", "violin", "cello") == [3 * BAR - TICKS]
    assert edges(text.format("E3") + "D3 E3 F3 G3", "violin", "violin", "cello") == []


def test_a_leap_that_nobody_makes_at_a_stroke_does_not_fit() -> None:
    tables = load_tables()
    flute = tables.instruments["flute"]
    assert flute.kind in STROKES
    notes = line("x", "C4 D6").notes
    assert fits([flute], notes[:1], tables) and fits([flute], notes[1:], tables)
    assert not fits([flute], notes, tables)
    assert cut(notes, 0, BAR, [flute], tables, BAR) == [TICKS]


def test_a_piece_that_fits_nobody_is_cut_into_two_that_do() -> None:
    """Two octaves and more in steps: one cut, and with a bar on either side."""
    tables = load_tables()
    flute = tables.instruments["flute"]
    notes = line("x", "C3 E3 G3 C4 E4 G4 C5 E5 G5 C6 E6 G6 C7").notes
    points = cut(notes, 0, 4 * BAR, [flute], tables, BAR)
    assert len(points) == 1
    assert all(b - a >= BAR for a, b in pairwise([0, *points, 13 * TICKS]))
