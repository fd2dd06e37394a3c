"""Clarinets in A in sharp keys, where an orchestra has them and they have all the notes."""

from __future__ import annotations

from autoorch.lineup import Lineup, parse_lineup
from autoorch.score.model import Score
from autoorch.tables import load_tables
from tests.support.hand import make_score, make_sketch, whole

TABLES = load_tables()


def names(lineup: Lineup, music: str, fifths: int) -> tuple[Score, dict[str, str]]:
    sketch = make_sketch([music], fifths=fifths)
    score = make_score(sketch, lineup, [whole(sketch, "Clarinet 1", 1)])
    return score, {part.player.name: part.name for part in score.parts}


def test_sharp_keys_are_read_in_a_and_sound_the_same() -> None:
    orchestra = parse_lineup("2 cl, str", TABLES)
    score, found = names(orchestra, "D5:2 F#5:2", 2)
    assert found["Clarinet 1"] == "Clarinet in A 1" and found["Clarinet 2"] == "Clarinet in A 2"
    (part,) = (part for part in score.parts if part.player.name == "Clarinet 1")
    (bar,) = part.measures
    heads = [head for event in bar.voices[0] for head in event.heads]
    assert bar.fifths == -1
    assert [str(h.written) for h in heads] == ["F5", "A5"] and [str(h.sounding) for h in heads] == ["D5", "F#5"]


def test_flat_keys_bands_and_notes_beyond_it_stay() -> None:
    assert names(parse_lineup("2 cl, str", TABLES), "D5:4", 1)[1]["Clarinet 1"] == "Clarinet in B♭ 1"
    assert names(parse_lineup("2 cl, 2 hn", TABLES), "D5:4", 4)[1]["Clarinet 1"] == "Clarinet in B♭ 1"
    top = TABLES.instruments["clarinet_a"].extreme[1]
    assert TABLES.instruments["clarinet_bb"].extreme[1] > top
    assert names(parse_lineup("2 cl, str", TABLES), "Bb6:4", 4)[1]["Clarinet 1"] == "Clarinet in B♭ 1"
