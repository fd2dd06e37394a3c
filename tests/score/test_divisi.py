"""Where a section divides, where it comes together again, and who is told so again."""

from __future__ import annotations

from dataclasses import replace

from autoorch.layers.model import MaterialNote
from autoorch.pitch import parse
from autoorch.problem.draft import Choice
from autoorch.score.divisi import divisi_words
from autoorch.score.notation import notation
from autoorch.score.streams import Grid, Played
from autoorch.sketch.model import Bar
from tests.support.tiny import players

BAR = 4
GRID = Grid(1, 1, tuple(Bar(k, str(k + 1), k * BAR, BAR, (4, 4), 0) for k in range(8)))
(SECTION,) = players("viola").players


def words(*bars: str) -> list[tuple[int, int, str]]:
    """(bar from 0, quarter, word) of a part: a sign a quarter, "2" two notes at once, "-" a rest, "." what is held."""
    notes: list[Played] = []
    for quarter, sign in enumerate("".join(bars)):
        if sign == ".":
            notes = [replace(n, end=quarter + 1) if n.end == quarter else n for n in notes]
        for line in range(int(sign) if sign.isdigit() else 0):
            note = MaterialNote(f"n{quarter}.{line}", quarter, 1, parse("G4" if line else "E4"))
            notes.append(Played(note, quarter, quarter + 1, 0, f"s1.{line}"))
    whole = Choice(SECTION.name, "s1", ("s1.0", "s1.1", "s1.2"), 0, 0, BAR * len(GRID.bars))
    return [(m.tick // BAR, m.tick % BAR, m.value) for m in divisi_words(SECTION, [whole], notes, GRID, notation())]


def test_a_section_divides_and_comes_together_in_bars_and_not_for_one_or_two() -> None:
    assert SECTION.size > 1
    assert words("2...", "1111", "22..", "1...") == [(0, 0, "div."), (3, 0, "unis.")]
    far = words("2...", "1111", "1111", "1...", "22..", "1...")
    assert far == [(0, 0, "div."), (1, 0, "unis."), (4, 0, "div."), (5, 0, "unis.")]


def test_it_is_told_at_the_first_notes_that_need_it_and_once_a_bar() -> None:
    assert words("1121", "2121", "1...") == [(0, 2, "div."), (2, 0, "unis.")]


def test_three_lines_are_counted() -> None:
    assert words("2...", "3...", "1...") == [(0, 0, "div."), (1, 0, "div. a3"), (2, 0, "unis.")]


def test_who_comes_in_divided_after_a_long_rest_is_told_again() -> None:
    assert words("2...", "----", "2...") == [(0, 0, "div.")]
    assert words("2...", "----", "----", "2...", "1...") == [(0, 0, "div."), (3, 0, "div."), (4, 0, "unis.")]
    assert words("1...", "----", "----", "1...") == []


def test_half_of_a_section_is_told_once_whether_offered_or_chosen() -> None:
    notes = [
        Played(MaterialNote(f"n{k}", k * BAR, BAR, parse("G4")), k * BAR, (k + 1) * BAR, 0, "s1.0") for k in range(3)
    ]
    shares = ((6, ("half",)), (6, ()), (12, ()))
    choices = [
        Choice(SECTION.name, "s1", ("s1.0",), 0, k * BAR, (k + 1) * BAR, share, techniques)
        for k, (share, techniques) in enumerate(shares)
    ]
    found = divisi_words(SECTION, choices, notes, GRID, notation())
    assert [(m.tick // BAR, m.value) for m in found] == [(0, "half"), (2, "tutti")]
