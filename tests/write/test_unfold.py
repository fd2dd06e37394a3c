"""The order in which bars are played: repeats and endings, and so many repeats that they are left alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.sketch.model import Bar
from autoorch.write.unfold import LONGEST, unfold


def bars(*signs: str) -> list[Bar]:
    """One bar a word: "|:" and ":|" for repeats (":3|" for three times), "[1]" "[1,2]" for endings, "-" for nothing."""
    found = []
    for k, sign in enumerate(signs):
        endings = tuple(int(n) for n in sign[sign.index("[") + 1 : sign.index("]")].split(",")) if "[" in sign else ()
        times = 3 if ":3|" in sign else 2 if ":|" in sign else 0
        found.append(
            Bar(k, str(k + 1), 4 * k, 4, (4, 4), 0, repeat_start="|:" in sign, repeat_end=times, endings=endings)
        )
    return found


@pytest.mark.parametrize(
    ("signs", "order"),
    [
        ("- - -", "123"),
        ("- :| -", "12123"),
        ("- |: :| -", "123234"),
        ("|: :3| -", "1212123"),
        ("- [1]:| [2] -", "121" + "34"),
        ("- |: [1]:| [2] - |: :|", "1232" + "45" + "67" + "67"),
        ("- [1,2]:| [3] -", "1212134"),
        ("- [1] [1]:| [2] [2]", "12314" + "5"),
        ("- :| - :|", "1212" + "3434"),
        ("- [1]:| [2]:| -", "1213" + "4"),
        ("- [1]:| [2] - :|", "1213" + "4545"),
    ],
)
def test_playing_order(signs: str, order: str) -> None:
    assert "".join(str(k + 1) for k in unfold(bars(*signs.split()))) == order


def test_repeats_that_make_more_than_any_music_are_left_alone() -> None:
    many = bars(*["-"] * (LONGEST // 60), ":|")
    many[-1] = replace(many[-1], repeat_end=50)
    assert len(unfold(many)) == 50 * len(many)
    many[-1] = replace(many[-1], repeat_end=70)
    assert unfold(many) == tuple(range(len(many)))
