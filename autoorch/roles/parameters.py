"""The reading's parameters: constraints/reading.toml, read strictly."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from autoorch.tables import Tables

Section = Mapping[str, float]
_SECTIONS = {
    "bass": "leap window apart held",
    "figure": "notes unit quick even leaps distinct third ostinato scale vamp_notes vamp_distinct vamp_below",
    "texture": "double_share chord off_beat crowd repeated held lines few minor minor_bars tiny voice together "
    "counter_notes counter_alone counter_step counter_small pedal drone drone_strikes drone_moves "
    "drone_share octaves accents run run_unit stride hint",
    "phrase": "joint bars_1 bars_2 bars_3 bars_4 bars_5 bars_6 bars_7 bars_8 longer hymn_notes hymn_share hymn_chords regular "
    "barline rest long slur slur_begins fermata mark turn sign cadence texture parallel farthest inside",
    "cadence": "bars authentic plagal deceptive half inverted inside",
    "material": "rhythm near contour harmony varied chance odd_lag",
    "form": "same equal primes remembered opening opening_share unmatched other_key section section_free section_unusual "
    "section_joint section_mark section_turn section_close section_return section_new section_longest",
    "strand": "cut cut_leap cut_rest",
    "lines": "crossing silent fresh",
    "imitation": "notes bars whole restated near apart canon canon_share off tonal distinct rhythms",
    "misprint": "outside clash_length clash_near flat_side sharp_side odd_notes odd_bars",
}
SCHEMA = {section: dict.fromkeys(keys.split(), float) for section, keys in _SECTIONS.items()}


def parameters(tables: Tables) -> Mapping[str, Any]:
    """Section -> key -> value.

    Raises:
        TableError: for an unknown, missing or absurd key.
    """
    return tables.rule("reading", SCHEMA)
