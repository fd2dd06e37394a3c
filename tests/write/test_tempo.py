"""The tempo of the mock-up: steps, ritardandi, fermatas, repeats, and its total time against the score."""

from __future__ import annotations

import io
from dataclasses import replace
from fractions import Fraction

import mido
import pytest

from autoorch.score.model import Score
from autoorch.sketch.model import Mark
from autoorch.write.manner import read_manner
from autoorch.write.midi import write_midi
from autoorch.write.performance import perform
from autoorch.write.tempo import TempoMap
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players

BARS = " ".join(["C5:4"] * 8)
TABLE = read_manner()["tempo"]


def score(*marks: Mark, music: str = BARS, **more: object) -> Score:
    sketch = make_sketch([music], marks=marks, **more)  # type: ignore[arg-type]
    return make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])


def steps(made: Score) -> list[tuple[float, float]]:
    """(bar from 0, quarters a minute) of each step."""
    tempo = perform(made).tempo
    return [(start / 1920, round(60e6 / micros, 2)) for start, micros in zip(tempo.starts, tempo.micros, strict=True)]


def top(kind: str, bar: int, value: str, text: str = "") -> Mark:
    return Mark(kind, 4 * bar, 4 * bar, -1, value, text)


def test_plain_tempos_are_steps() -> None:
    made = score(top("tempo", 0, "90"), top("tempo", 3, "120", "Vivo"), top("tempo", 5, "60"))
    assert steps(made) == [(0, 90), (3, 120), (5, 60)]
    assert perform(made).seconds == pytest.approx(12 * 60 / 90 + 8 * 60 / 120 + 12, abs=0.001)


def test_a_ritardando_slows_down_evenly_and_the_tempo_returns() -> None:
    made = steps(
        score(
            top("tempo", 0, "100"), top("words", 2, "poco rit."), top("words", 3, "dolce"), top("words", 5, "a tempo")
        )
    )
    inside = [tempo for bar, tempo in made if 2 <= bar < 5]
    assert inside == sorted(inside, reverse=True) and len(inside) == 12 * TABLE["divisions"]
    assert inside[-1] == pytest.approx(100 * TABLE["gradual"]["rit."], abs=0.01)
    gaps = {round(a - b, 1) for a, b in zip([100, *inside], inside, strict=False)}
    assert len(gaps) <= 2, "equal steps"
    assert made[-1] == (5, 100)


def test_an_accelerando_leads_into_the_tempo_that_follows() -> None:
    made = steps(score(top("tempo", 0, "80"), top("words", 1, "accel."), top("tempo", 3, "140")))
    assert [tempo for bar, tempo in made if bar < 3] == sorted(tempo for bar, tempo in made if bar < 3)
    assert [tempo for bar, tempo in made if bar < 3][-1] == 140


def test_a_ritardando_without_an_end_is_short_and_the_old_tempo_returns() -> None:
    made = steps(score(top("tempo", 0, "100"), top("words", 2, "rall.")))
    assert made[-1] == (2 + TABLE["bars"], 100)
    assert made and all(tempo <= 100 for _, tempo in made)


def test_other_words_change_nothing() -> None:
    assert steps(score(top("tempo", 0, "100"), top("words", 2, "ritmico"), top("words", 3, "più f"))) == [(0, 100)]


def test_sudden_changes_and_the_first_tempo() -> None:
    made = steps(score(top("tempo", 0, "80"), top("words", 2, "meno mosso"), top("words", 5, "Tempo I")))
    assert made == [(0, 80), (2, 68), (5, 80)]


def test_a_fermata_holds_the_note() -> None:
    made = score(music="C5:4 D5:2 E5:2 F5:4", notes={"a2": {"marks": ("fermata",)}})
    assert steps(made) == [(0, 100), (1.5, 100 / TABLE["fermata"]), (2, 100)]
    assert perform(made).seconds == pytest.approx((12 + 2 * (TABLE["fermata"] - 1)) * 0.6, abs=0.001)


def test_a_fermata_on_a_bar_line_holds_its_last_beat() -> None:
    made = score(music="C5:4 D5:4")
    held = replace(made, bars=(replace(made.bars[0], fermata=True), made.bars[1]))
    assert steps(held) == [(0, 100), (0.75, 100 / TABLE["fermata"]), (1, 100)]


def test_repeats_bring_their_tempos_again() -> None:
    made = score(top("tempo", 0, "100"), top("tempo", 1, "50"), music="C5:4 D5:4 E5:4")
    bars = list(made.bars)
    bars[1] = replace(bars[1], repeat_end=2)
    assert steps(replace(made, bars=tuple(bars))) == [(0, 100), (1, 50), (2, 100), (3, 50)]


@pytest.mark.parametrize("tempo", ["37", "66.6", "93", "144"])
def test_total_time_is_within_a_millisecond_of_the_score(tempo: str) -> None:
    """The sum of the bars in exact fractions, against mido's own reading of the file."""
    later = Mark("tempo", 60 * 12, 60 * 12, -1, "71")
    made = score(top("tempo", 0, tempo), later, music=" ".join(["C5:1 D5:1/3 E5:2/3 F5:2"] * 120))
    exact = 60 * (Fraction(240) / Fraction(tempo) + Fraction(240, 71))
    file = io.BytesIO()
    write_midi(made, file)
    read = mido.MidiFile(file=io.BytesIO(file.getvalue()))
    assert read.length == pytest.approx(float(exact), abs=0.001)
    assert perform(made).seconds == pytest.approx(read.length, abs=1e-6)


def test_seconds_of_a_map() -> None:
    tempo = TempoMap((0, 960), (500_000, 1_000_000))
    assert [tempo.seconds(tick) for tick in (0, 480, 960, 1440)] == [0, 0.5, 1.0, 2.0]
    assert tempo.quarters_a_minute(959) == 120 and tempo.quarters_a_minute(960) == 60
