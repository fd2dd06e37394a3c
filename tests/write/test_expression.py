"""Curves of controller 11: phrases shaped where no hairpin shapes them, only changes sent."""

from __future__ import annotations

from itertools import pairwise

from autoorch.score.model import Score
from autoorch.sketch.model import Mark
from autoorch.write.clock import Clock
from autoorch.write.expression import curve
from autoorch.write.loudness import Loudness
from autoorch.write.manner import read_manner
from autoorch.write.playing import Sound
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players

MANNER = read_manner()


def made(music: str, *marks: Mark) -> Score:
    sketch = make_sketch([music], marks=marks)
    return make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])


def curve_of(score: Score, *sounds: tuple[int, int]) -> list[tuple[int, int]]:
    order = range(len(score.bars))
    played = [Sound(start, end, 72, 70) for start, end in sounds]
    loudness = Loudness(score.parts[0], score.bars, MANNER)
    return curve(score, order, Clock(score, order), loudness, played, MANNER)


def test_a_phrase_swells_to_its_crest_and_falls_off() -> None:
    found = curve_of(made("C5:4 D5:4"), (0, 3840))
    values = [value for _, value in found]
    top = max(range(len(values)), key=values.__getitem__)
    assert values[: top + 1] == sorted(values[: top + 1]) and values[top:] == sorted(values[top:], reverse=True)
    assert abs(found[top][0] - MANNER["expression"]["crest"] * 3840) < 480
    assert values[top] * (1 - MANNER["expression"]["swell"]) - 1 <= min(values) < values[top], (
        "no deeper than the table"
    )


def test_short_phrases_and_phrases_with_a_hairpin_are_not_shaped() -> None:
    assert len(curve_of(made("C5:4 D5:4"), (0, 480), (1920, 2400))) == 1
    hairpin = [Mark("dynamic", 0, 0, 0, "p"), Mark("wedge", 0, 4, 0, "crescendo"), Mark("dynamic", 4, 4, 0, "f")]
    values = [value for _, value in curve_of(made("C5:4 D5:4", *hairpin), (0, 3840))]
    assert values == sorted(values), "the hairpin alone shapes it"


def test_each_phrase_has_its_own_shape_and_long_ones_are_parted() -> None:
    def crests(*sounds: tuple[int, int]) -> int:
        values = [value for _, value in curve_of(made(" ".join(["C5:4"] * 20)), *sounds)]
        return sum(a < b > c for a, b, c in zip(values, values[1:], values[2:], strict=False))

    assert crests((0, 3840), (5760, 9600)) == 2
    assert crests((0, 20 * 1920)) == 3, "80 quarters without a rest"


def test_only_changes_are_sent_and_all_are_controller_values() -> None:
    found = curve_of(made("C5:4 D5:4 E5:4", Mark("dynamic", 4, 4, 0, "fff")), (0, 3 * 1920))
    assert found[0][0] == 0 and len(found) > 2
    assert all(a[0] < b[0] and a[1] != b[1] for a, b in pairwise(found))
    assert all(0 <= value <= 127 for _, value in found)
