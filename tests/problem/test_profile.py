"""What a line asks of its player: how fast its notes follow each other, on one pitch or on changing ones."""

from __future__ import annotations

import pytest

from autoorch.problem.profile import profile
from autoorch.tables import load_tables
from tests.support.tiny import BAR, TICKS, line

HARD = load_tables().rule("playability")


def speeds(text: str) -> tuple[int, int]:
    """(repeated, moving), notes in 100 seconds, where a tick lasts a thousandth of a second."""
    found = profile(line("s1.1", text).notes, BAR, lambda tick: tick / 1000, HARD)
    return found.repeated, found.moving


@pytest.mark.parametrize(
    "text, repeats, moves",
    [
        ("C4 C4 C4 C4 C4", True, False),
        ("C4 D4 E4 D4 C4", False, True),
        ("C4 C4 C4 C4 D4", True, False),
        ("C4 C4 D4 D4 E4", False, True),
        ("C4 C4 D4 E4 D4", False, True),
        ("C4 C4 D4 D4", False, False),
    ],
)
def test_notes_in_pairs_are_as_fast_as_others(text: str, repeats: bool, moves: bool) -> None:
    repeated, moving = speeds(text)
    assert (repeated > 0, moving > 0) == (repeats, moves)


def test_a_run_is_as_fast_whether_or_not_its_notes_come_in_pairs() -> None:
    assert speeds("C4 C4 D4 D4 E4")[1] == speeds("C4 D4 E4 F4 G4")[1] > 0


def test_a_leap_is_one_where_there_is_no_time_to_breathe_before_it() -> None:
    """Two octaves; where a breath takes just as long as the rest between them it is none, and a ninth is one."""

    def leaps(text: str, gap: float) -> tuple[bool, tuple[int, ...]]:
        hard = {**HARD, "breath": {**HARD["breath"], "gap_s": gap}}
        found = profile(line("s1.1", text).notes, 3 * TICKS, float, hard)
        return found.rests, found.leaps

    assert leaps("C4 C6 C6", TICKS) == (False, (24,))
    assert leaps("C4 - C6", TICKS + 1) == (False, (24,))
    assert leaps("C4 - C6", TICKS) == (True, ())
    assert leaps("C4 C5 C4", TICKS) == (False, ())
    assert leaps("C4 C#5 C4", TICKS) == (False, (13, 13))
