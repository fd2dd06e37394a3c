"""Volumes of a soundfont's players as the powers want them, measured on the font."""

from __future__ import annotations

import io

import pyloudnorm
import pytest
import soundfile

from autoorch.layers.assigned import assigned
from autoorch.layers.model import Material
from autoorch.power import power
from autoorch.tables import load_tables
from autoorch.write.audio import render, soundfont
from autoorch.write.levels import volumes
from autoorch.write.manner import read_manner
from autoorch.write.performance import perform
from tests.support.hand import make_score, make_sketch, read_hand, whole
from tests.support.tiny import players

TABLES = load_tables()
MANNER = read_manner()
FONT = soundfont()


def test_players_are_as_strong_against_each_other_as_the_powers_say() -> None:
    """A flute and a trombone in the middle of their ranges: at mf one trombone counts as three woodwinds, 4.8 dB."""
    sketch = make_sketch(["F#5:4", "G#3:4"])
    lineup = players("flute", "trombone")
    score = make_score(sketch, lineup, [whole(sketch, "flute", 1), whole(sketch, "trombone", 2)])
    sound = render(perform(score), Material(assigned(sketch, read_hand(sketch, ("melody", "bass")), TABLES), ()), FONT)
    loud = {}
    for name in ("woodwind", "brass"):
        samples, rate = soundfile.read(io.BytesIO(sound.stems[f"family-{name}"]))
        loud[name] = pyloudnorm.Meter(rate).integrated_loudness(samples[:rate])
    wind, brass = (power(TABLES, player.instrument, player.size, "mf") for player in lineup.players)
    assert brass == 3 * wind
    assert loud["brass"] - loud["woodwind"] == pytest.approx(4.8, abs=1.0)


def test_a_larger_section_is_louder_within_bounds() -> None:
    sketch = make_sketch(["A4:4"])
    found = {}
    for size in (4, 12, 16):
        lineup = players("flute", "violin", size=size)
        found[size] = volumes(make_score(sketch, lineup, []).parts, TABLES, MANNER, FONT.read_bytes())
    shares = [strings / flute for flute, strings in found.values()]
    assert shares == sorted(shares) and len(set(shares)) == 3
    assert found and all(max(pair) == 127 and min(pair) > 0 for pair in found.values())


def test_unpitched_percussion_stands_in_the_middle() -> None:
    sketch = make_sketch(["A4:4"])
    parts = make_score(sketch, players("flute", "snare_drum", "trombone"), []).parts
    flute, drum, trombone = volumes(parts, TABLES, MANNER, FONT.read_bytes())
    assert flute < drum < trombone
    assert volumes(parts[1:2], TABLES, MANNER, FONT.read_bytes()) == (127,)
