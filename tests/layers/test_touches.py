"""What a spread chord is made of."""

from __future__ import annotations

from autoorch.layers.touches import spread
from autoorch.roles.model import Moment
from tests.layers.test_finish import TABLES, cue


def test_a_spread_chord_may_lack_one_note_and_no_more() -> None:
    here = cue("lighthouse-waltz", lineup="romantic")
    row = next(t for t in TABLES.rule("finish")["touch"] if t["id"] == "harp chord")
    arrivals = [Moment(note.onset, "arrival", 1.0) for note in here.tune]
    sizes = [len(lines) for moment in arrivals if (lines := spread(here, row, moment, "x"))]
    assert min(sizes) == row["lines"] - 1 and max(sizes) == row["lines"]
