"""Which scores and parts are written under which names."""

from __future__ import annotations

from dataclasses import replace

from autoorch.tables import load_tables
from autoorch.write.pages import Pages, scores
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players


def test_the_full_score_its_like_in_c_and_a_condensed_one() -> None:
    sketch = make_sketch(["F#5:4 G5:4"], fifths=1)
    score = make_score(sketch, players("flute", "flute", "horn"), [whole(sketch, "flute 1", 1)])
    found = scores(score, Pages())
    assert list(found) == ["score.musicxml", "score-concert.musicxml", "condensed.musicxml"]
    assert found["score.musicxml"] is score
    assert [part.name for part in found["condensed.musicxml"].parts] == ["Woodwind"]


def test_parts_stay_one_a_player_where_the_score_has_pairs() -> None:
    sketch = make_sketch(["F#5:4 G5:4"], fifths=1)
    score = make_score(sketch, players("flute", "flute", "clarinet_bb"), [whole(sketch, "flute 1", 1)])
    found = scores(score, Pages(parts=True, pairs=True, keys=False))
    assert [part.name for part in found["score.musicxml"].parts] == ["Flute 1.2", "Clarinet in B♭"]
    assert list(found)[3:] == [
        "parts/01 Flute 1.musicxml", "parts/02 Flute 2.musicxml", "parts/03 Clarinet in Bb.musicxml",
    ]  # fmt: skip
    assert {m.fifths for each in found.values() for part in each.parts for m in part.measures} == {0}


def test_names_of_files_are_safe_everywhere() -> None:
    sketch = make_sketch(["C5:4"])
    lineup, piccolo = players("flute"), load_tables().instruments["piccolo"]
    odd = replace(lineup, players=(replace(lineup.players[0], name='Solo? "<x>"', doubles=(piccolo,)),))
    (name,) = [n for n in scores(make_score(sketch, odd, []), Pages(parts=True)) if n.startswith("parts/")]
    assert name == "parts/01 Solo- --x--.musicxml"
