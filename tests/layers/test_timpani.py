"""Timpani: one drum a note, inside each drum's span (datimp.com, "Timpani Writing 101": one drum per note)."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from autoorch.layers.timpani import tune
from autoorch.tables import load_tables

TIMPANI = load_tables().instruments["timpani"]


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
