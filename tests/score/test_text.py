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


def test_who_moves_with_the_words_sings_them() -> None:
    words: dict[str, dict[str, object]] = {"a0": {"lyric": "Snow"}, "a1": {"lyric": "falls"}}
    sketch = make_sketch(["C5:2 D5:2 E5:4", "G4:2 A4:1 G4:1 -:4"], notes=words)
    score = make_score(sketch, players("soprano", "alto"), [whole(sketch, "soprano", 1), whole(sketch, "alto", 2)])
    assert [e.lyric for e in events(score, 1) if e.heads] == ["Snow", "falls", ""]
