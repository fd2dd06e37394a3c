"""Timpani: one drum a note, inside each drum's span (datimp.com, "Timpani Writing 101": one drum per note)."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from autoorch.brief import Brief
from autoorch.layers.cue import Cue
from autoorch.layers.plan import make_plan
from autoorch.layers.timpani import timpani, tune
from autoorch.lineup import parse_lineup
from autoorch.tables import load_tables
from tests.support.hand import make_sketch, read_hand

TABLES = load_tables()
TIMPANI = TABLES.instruments["timpani"]


def test_soft_strokes_where_the_plan_gives_them_the_bass() -> None:
    sketch = make_sketch(["E5:4 D5:4 E5:4 D5:4", "C3:1 -:3 G2:1 -:3 C3:1 -:3 G2:1 -:3"])
    reading = read_hand(sketch, ("melody", "bass"))
    reading = replace(reading, phrases=tuple(replace(p, dynamic="p") for p in reading.phrases))
    lineup = parse_lineup("romantic", TABLES)
    plan = make_plan(sketch, reading, lineup, Brief(), TABLES)

    def strokes(*bass: str) -> list[tuple[int, int]]:
        given = tuple(replace(phrase, bass=bass, turns=()) for phrase in plan)
        found = timpani(Cue(sketch, reading, given, lineup, Brief(), TABLES), [])
        return [(n.onset // sketch.ticks, n.pitch.midi % 12) for s in found for n in s.lines[0].notes]

    assert strokes("double_bass", "timpani") == [(0, 0), (4, 7), (8, 0), (12, 7)]
    assert strokes("cello", "double_bass") == []


@given(st.dictionaries(st.integers(0, 11), st.integers(1, 50), max_size=12))
def test_each_note_has_a_drum_of_its_own(wanted: dict[int, int]) -> None:
    tuning = tune(wanted, TIMPANI)
    assert len(tuning) <= len(TIMPANI.drums)
    assert all(pitch % 12 == degree for degree, pitch in tuning.items())
    free = list(TIMPANI.drums)
    for pitch in tuning.values():
        drum = next(d for d in free if d[0] <= pitch <= d[1])
        free.remove(drum)


def test_tonic_and_dominant_first() -> None:
    assert set(tune({0: 9, 7: 6}, TIMPANI)) == {0, 7}


def test_drums_are_tuned_near_their_middle_lower_notes_on_larger_ones() -> None:
    """D, E and A were once D2, E3 and A3: the slackest skin of all beside the tightest two."""
    tuning = tune({2: 5, 9: 4, 4: 3}, TIMPANI)
    assert set(tuning) == {2, 4, 9}
    away = [min(abs(2 * p - low - high) for low, high in TIMPANI.drums if low <= p <= high) for p in tuning.values()]
    assert max(away) <= 6, "within three semitones of the middle of a drum"
