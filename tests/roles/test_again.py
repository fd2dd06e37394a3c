"""What a second pass over a song sees: what comes again with and without the line, what two hands leave over, the range."""

from __future__ import annotations

import numpy as np
import pytest

from autoorch.roles.again import AGAIN, look_again
from autoorch.roles.features import Numbers, clock
from autoorch.roles.texture import Texture, Tone
from tests.roles.support import sketch

Row = tuple[float, float, str]

FIGURE = "C3 G3 E3 G3 C3 A3 F3 A3".split()
LINE = ((0.0, 1.0, "C5"), (1.0, 0.5, "D5"), (1.5, 0.5, "E5"), (2.0, 1.5, "G4"), (3.5, 0.5, "A4"))


def seen(rows: list[Row], bars: int, sure: str = "") -> list[tuple[Tone, dict[str, float]]]:
    """Each tone with what is seen of it; tones of the pitches in `sure` are likely in the tune."""
    texture = Texture(sketch(*rows, bars=bars))
    wanted = {note.id for note in texture.sketch.notes if str(note.pitch) in sure.split()}
    chance: Numbers = np.array([0.9 if tone.id in wanted else 0.05 for tone in texture.tones])
    found = look_again(clock(texture, 0.05), chance)
    assert len(found) == len(rows) and np.isfinite(found).all()
    return [(tone, dict(zip(AGAIN, row, strict=True))) for tone, row in zip(texture.tones, found.tolist(), strict=True)]


def song(*with_line: int, bars: int = 6) -> list[Row]:
    """A figure through all bars, a line over some of them."""
    rows: list[Row] = [(4 * bar + k / 2, 0.5, name) for bar in range(bars) for k, name in enumerate(FIGURE)]
    return rows + [(4 * bar + at, length, name) for bar in with_line for at, length, name in LINE]


def test_a_line_over_a_figure_that_comes_again_is_fresh() -> None:
    found = seen(song(2), 6)
    line = [looks["fresh"] for tone, looks in found if tone.pitch >= 67]
    figure = [looks["fresh"] for tone, looks in found if tone.pitch < 60]
    assert len(line) == 5 and len(figure) == 48
    assert min(line) > 0.4 and max(figure) < 0.2


def test_what_was_likely_is_recalled_where_it_comes_again() -> None:
    rows = song(1, 4)
    first = {name for at, _, name in LINE}
    texture = Texture(sketch(*rows, bars=6))
    names = {note.id: str(note.pitch) for note in texture.sketch.notes}
    chance: Numbers = np.array(
        [0.95 if names[t.id] in first and texture.in_bars(t.onset) < 3 else 0.05 for t in texture.tones]
    )
    recalled = look_again(clock(texture, 0.05), chance)[:, AGAIN.index("recalled")]
    again = [
        value
        for t, value in zip(texture.tones, recalled.tolist(), strict=True)
        if t.pitch >= 67 and texture.in_bars(t.onset) >= 4
    ]
    figure = [value for t, value in zip(texture.tones, recalled.tolist(), strict=True) if t.pitch < 60]
    assert len(again) == 5 and len(figure) == 48
    assert min(again) > 0 > max(figure)


@pytest.mark.parametrize(("chord", "spare"), [("C3 G3 E4 C5", set()), ("C2 G3 E4 C6", {"C2", "C6"})])
def test_spare_is_what_two_hands_leave_over(chord: str, spare: set[str]) -> None:
    rows: list[Row] = [(float(beat), 1.0, name) for beat in range(4) for name in chord.split()]
    texture = Texture(sketch(*rows, bars=1))
    found = look_again(clock(texture, 0.05), np.full(len(rows), 0.2))[:, AGAIN.index("spare")]
    names = {note.id: str(note.pitch) for note in texture.sketch.notes}
    assert {names[t.id] for t, value in zip(texture.tones, found.tolist(), strict=True) if value == 1} == spare
    assert set(found.tolist()) <= {0.0, 1.0}


def test_a_singer_s_range_and_values_are_what_is_likely_sung() -> None:
    found = seen([*song(1, 2, 3), (16.0, 3.0, "C2")], 6, "C5 D5 E5 G4 A4")
    own = [looks for tone, looks in found if 67 <= tone.pitch <= 76]
    low = next(looks for tone, looks in found if tone.pitch == 36)
    assert len(own) == 15
    assert max(looks["far"] for looks in own) < 4 < low["far"]
    quick = [looks["values"] for tone, looks in found if tone.pitch < 60]
    assert min(looks["values"] for tone, looks in found if tone.pitch == 72) > max(quick)
