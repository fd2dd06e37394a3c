"""Keys that sound twice at once: which tones show them, and which of two equal tones is passed over."""

from __future__ import annotations

import numpy as np

from autoorch.roles.features import clock
from autoorch.roles.singer import SIGNS, signs, twins
from autoorch.roles.texture import Texture
from tests.roles.support import sketch

DOUBLED, OUTLASTS, OUTLASTED, RESTRUCK, HELD = (SIGNS.index(n) for n in SIGNS[:5])


def test_each_sign_stands_on_its_own_tones() -> None:
    rows = [
        (0, 1, "G4"),
        (0, 1, "G4"),
        (1, 2, "A4"),
        (1, 1, "A4"),
        (4, 2, "B4"),
        (5, 1, "B4"),
        (8, 1, "C5"),
        (9, 1, "C5"),
    ]
    texture = Texture(sketch(*rows, bars=3))
    time = clock(texture, 0.05)
    found = signs(time)
    quarter = texture.sketch.ticks
    places = {
        column: [
            (t.onset / quarter, t.length / quarter) for t, row in zip(texture.tones, found, strict=True) if row[column]
        ]
        for column in (DOUBLED, OUTLASTS, OUTLASTED, RESTRUCK, HELD)
    }
    assert places == {
        DOUBLED: [(0, 1), (0, 1)],
        OUTLASTS: [(1, 2)],
        OUTLASTED: [(1, 1)],
        RESTRUCK: [(5, 1)],
        HELD: [(4, 2)],
    }
    assert np.flatnonzero(twins(time)).tolist() == [1]


def test_one_player_s_notes_show_no_sign() -> None:
    texture = Texture(sketch(*[(k, 1, name) for k, name in enumerate("G4 A4 A4 B4".split())], bars=1))
    time = clock(texture, 0.05)
    assert len(texture.tones) == 4 and not signs(time)[:, :5].any() and not twins(time).any()
