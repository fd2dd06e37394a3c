"""Uneven timing: within its bounds, the same for the same seed, chords together."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from autoorch.write.humanise import humanise
from autoorch.write.manner import read_manner
from autoorch.write.playing import Sound
from autoorch.write.tempo import TempoMap

MANNER = read_manner()
TEMPO = TempoMap((0, 1920), (500_000, 1_500_000))
END = 4000


def sounds() -> st.SearchStrategy[list[Sound]]:
    places = st.sets(st.integers(0, 31), min_size=1, max_size=20)
    return places.map(lambda found: [Sound(120 * k, 120 * k + 100, 60 + k % 5, 1 + 4 * k) for k in sorted(found)])


@given(sounds(), st.integers(0, 9))
def test_nothing_moves_farther_than_the_table_says(played: list[Sound], seed: int) -> None:
    found = humanise(played, TEMPO, END, MANNER, seed, "P1")
    assert len(found) == len(played)
    for before, after in zip(played, found, strict=True):
        assert before.midi == after.midi and 0 <= after.start < after.end <= END and 1 <= after.velocity <= 127
        moved = abs(TEMPO.seconds(after.start) - TEMPO.seconds(before.start))
        slack = 1.5 / 480
        if (before.start < 1920) == (after.start < 1920):
            assert moved <= MANNER["humanise"]["seconds"] + slack
        assert abs(before.velocity - after.velocity) <= MANNER["humanise"]["velocity"]


def test_the_same_seed_moves_alike_and_another_one_otherwise() -> None:
    played = [Sound(480 * k, 480 * k + 480, 60, 70) for k in range(8)]
    made = {(seed, part): humanise(played, TEMPO, END, MANNER, seed, part) for seed in (1, 2) for part in ("P1", "P2")}
    assert made[1, "P1"] == humanise(played, TEMPO, END, MANNER, 1, "P1")
    assert len({tuple(found) for found in made.values()}) == 4
    assert made[1, "P1"] != played


def test_a_chord_stays_together() -> None:
    played = [Sound(960, 1920, midi, 70) for midi in (60, 64, 67)]
    assert len({sound.start for sound in humanise(played, TEMPO, END, MANNER, 1, "P1")}) == 1
