"""Slurs in other hands than a pianist's, at 100 crotchets a minute: a bar of 4/4 lasts 2.4 s."""

from __future__ import annotations

from autoorch.score.notation import notation
from autoorch.sketch.model import Mark
from tests.score.test_realise import events, slurs
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players

BAR = "C5:1 D5:1 E5:1 F5:1 "


def ends(
    music: str, instrument: str, dynamic: str = "mf", pairs: tuple[tuple[str, str], ...] = ()
) -> list[tuple[int, int]]:
    """(first, last) event of each slur."""
    count = len([word for word in music.split() if word[0] != "-"])
    sketch = make_sketch(
        [music], slurs=pairs or [("a0", f"a{len(music.split()) - 1}")], marks=[Mark("dynamic", 0, 0, 0, dynamic)]
    )
    assert len(sketch.notes) == count
    found = events(make_score(sketch, players(instrument), [whole(sketch, instrument, 1)]))
    starts = [k for k, e in enumerate(found) for _ in e.slur_starts]
    stops = [k for k, e in enumerate(found) for _ in e.slur_stops]
    return list(zip(starts, stops, strict=True))


def test_a_long_slur_becomes_bows_that_turn_on_bar_lines() -> None:
    assert notation().slurs["bow_s"]["mf"] == 4.0
    assert ends(BAR * 4, "violin") == [(0, 3), (4, 7), (8, 11), (12, 15)]
    assert ends(BAR * 4, "violin", "pp") == [(0, 7), (8, 15)], "a soft bow lasts longer"


def test_a_wind_player_slurs_as_long_as_the_breath_lasts() -> None:
    assert ends(BAR * 3, "flute") == [(0, 11)]
    cut = ends(BAR * 6, "flute")
    assert len(cut) > 1 and all(start % 4 == 0 for start, _ in cut)


def test_keyboards_keep_the_slur_and_drums_have_none() -> None:
    assert ends(BAR * 4, "celesta") == [(0, 15)]
    assert ends(BAR, "timpani") == [] and ends(BAR, "xylophone") == []


def test_no_slur_goes_over_a_rest_or_a_plain_repetition() -> None:
    assert ends("C5:1 D5:1 -:1 E5:1 F5:1 G5:1 A5:1 B5:1", "violin", "pp", (("a0", "a7"),)) == [(0, 1), (3, 7)]
    assert ends("C5:1 D5:1 D5:1 E5:1", "violin") == [(0, 1), (2, 3)]


def test_the_inner_of_two_slurs_is_the_bow() -> None:
    assert ends(BAR, "violin", "mf", (("a0", "a3"), ("a0", "a1"))) == [(0, 1), (2, 3)]


def test_dots_under_a_slur_keep_it_over_equal_notes() -> None:
    dots: dict[str, dict[str, object]] = {f"a{k}": {"marks": ("staccato",)} for k in range(4)}
    sketch = make_sketch(["C5:1 C5:1 C5:1 C5:1"], slurs=[("a0", "a3")], notes=dots)
    found = events(make_score(sketch, players("violin"), [whole(sketch, "violin", 1)]))
    assert [name for name, _, _ in slurs(found)] == ["C5", "C5"]
