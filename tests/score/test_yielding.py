"""Brass are a degree softer in loud chords that the woodwind have too, and nowhere else."""

from __future__ import annotations

from autoorch.problem.draft import Choice
from autoorch.score.model import Score
from autoorch.sketch.model import Mark
from tests.support.hand import make_score, make_sketch
from tests.support.tiny import players

NAMES = ("violin", "oboe", "trumpet_bb", "horn")


def told(dynamic: str, oboe: str = "s2", trumpet: str = "s2") -> dict[str, list[str]]:
    """Dynamics of a tune of two bars and a chord under it; who has what: the trumpet on the tune or on the chord."""
    sketch = make_sketch(["C5:4 D5:4", "E4:4 F4:4"], marks=[Mark("dynamic", 0, 0, -1, dynamic)])
    strands = dict(zip(NAMES, ("s1", oboe, trumpet, "s2"), strict=True))
    choices = [Choice(name, strand, (f"{strand}.1",), 0, 0, 8) for name, strand in strands.items()]
    return marks(make_score(sketch, players(*NAMES), choices))


def marks(score: Score) -> dict[str, list[str]]:
    return {
        part.player.name: [d.value for m in part.measures for d in m.directions if d.kind == "dynamic"]
        for part in score.parts
    }


def test_trumpets_give_way_to_the_woodwind_in_a_loud_chord() -> None:
    assert told("ff") == {"violin": ["ff"], "oboe": ["ff"], "trumpet_bb": ["f"], "horn": ["ff"]}


def test_not_when_soft_nor_on_the_tune_nor_without_woodwind_there() -> None:
    assert told("p")["trumpet_bb"] == ["p"]
    assert told("ff", trumpet="s1")["trumpet_bb"] == ["ff"]
    assert told("ff", oboe="s1")["trumpet_bb"] == ["ff"]
