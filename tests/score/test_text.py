from __future__ import annotations

from autoorch.sketch.model import Mark
from tests.score.test_realise import events
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players


def sung(dynamic: str, notes: dict[str, dict[str, object]] | None = None, instrument: str = "soprano") -> list[str]:
    sketch = make_sketch(["C5:2 D5:2 -:2 E5:2"], notes=notes, marks=[Mark("dynamic", 0, 0, 0, dynamic)])
    return [e.lyric for e in events(make_score(sketch, players(instrument), [whole(sketch, instrument, 1)])) if e.heads]


def test_a_choir_without_text_has_a_vowel_at_each_entry() -> None:
    assert sung("f") == ["ah", "", "ah"]
    assert sung("pp") == ["oo", "", "oo"]


def test_the_sketchs_own_text_stands_alone() -> None:
    assert sung("f", {"a0": {"lyric": "Snow"}, "a1": {"lyric": "falls"}}) == ["Snow", "falls", ""]


def test_instruments_sing_nothing() -> None:
    assert sung("f", {"a0": {"lyric": "Snow"}}, "flute") == ["", "", ""]
