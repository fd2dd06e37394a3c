"""A degree softer: brass in loud chords that the woodwind have too, what moves near the tune and is stronger; nothing else."""

from __future__ import annotations

from dataclasses import replace

from autoorch.problem.draft import Choice
from autoorch.score.model import Score
from autoorch.sketch.model import Mark
from tests.support.hand import make_score, make_sketch, read_hand
from tests.support.tiny import players

LOUD = Mark("dynamic", 0, 0, -1, "ff")
NAMES = ("violin", "oboe", "trumpet_bb", "horn")


def told(dynamic: str, oboe: str = "s2", trumpet: str = "s2") -> dict[str, list[str]]:
    """Dynamics of a tune of two bars and a chord far under it; who has what: the trumpet on the tune or on the chord."""
    sketch = make_sketch(["C6:4 D6:4", "E4:4 F4:4"], marks=[Mark("dynamic", 0, 0, -1, dynamic)])
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


def test_repeated_chords_are_chords_too() -> None:
    lower = "E4:1 F4:1 E4:1 F4:1 E4:1 F4:1 E4:1 F4:1"
    sketch = make_sketch(["C6:4 D6:4", lower, lower.replace("E", "C").replace("F", "D")], marks=[LOUD])
    reading = read_hand(sketch, ("melody", "rhythm", "rhythm"))
    tune, upper, under = reading.strands
    chords = replace(upper, lines=(*upper.lines, *under.lines))
    has = {"violin": ("s1", "s1.1"), "oboe": ("s2", "s2.1"), "trumpet_bb": ("s2", "s3.1")}
    choices = [Choice(name, strand, (line,), 0, 0, sketch.end) for name, (strand, line) in has.items()]
    lineup = players(*has)
    together = make_score(sketch, lineup, choices, replace(reading, strands=(tune, chords)))
    assert marks(together) == {"violin": ["ff"], "oboe": ["ff"], "trumpet_bb": ["f"]}
    choices = [replace(c, strand="s3") if c.player == "trumpet_bb" else c for c in choices]
    apart = make_score(sketch, lineup, choices, reading)
    assert marks(apart) == {"violin": ["ff"], "oboe": ["ff"], "trumpet_bb": ["ff"]}


def test_inside_a_hairpin_who_comes_to_give_way_is_told_at_once() -> None:
    """An oboe ends its tune and goes on with the after-beats of the clarinets, under a flute, while all grow."""
    swell = Mark("wedge", 0, 8, -1, "crescendo")
    beats = "-:4 -:1 E5:1 F5:1 E5:1 F5:1 E5:1 F5:1 E5:1"
    sketch = make_sketch(["C5:4 D5:1 E5:7", beats], marks=[Mark("dynamic", 0, 0, -1, "p"), swell])
    reading = read_hand(sketch, ("melody", "rhythm"))
    reading = replace(reading, phrases=tuple(replace(p, dynamic="p") for p in reading.phrases))
    choices = [Choice("flute", "s1", ("s1.1",), 0, 0, sketch.end), Choice("oboe", "s1", ("s1.1",), 0, 0, 5)]
    choices += [Choice(name, "s2", ("s2.1",), 0, 0, sketch.end) for name in ("oboe", "clarinet_bb", "horn")]
    score = make_score(sketch, players("flute", "oboe", "clarinet_bb", "horn"), choices, reading)
    (oboe,) = (part for part in score.parts if part.player.name == "oboe")
    told = [
        (bar.onset + d.onset, d.value)
        for bar, measure in zip(score.bars, oboe.measures, strict=True)
        for d in measure.directions
        if d.kind in ("dynamic", "wedge")
    ]
    assert told == [(0, "p"), (0, "crescendo"), (5, "pp"), (5, "stop"), (5, "crescendo"), (8, "stop")]


def test_who_has_the_tune_is_not_softer_for_what_he_has_between() -> None:
    sketch = make_sketch(
        ["C5:2 -:2 D5:4", "-:2 E5:0.5 F5:0.5 G5:0.5 A5:0.5 -:4"], marks=[Mark("dynamic", 0, 0, -1, "p")]
    )
    reading = read_hand(sketch, ("melody", "rhythm"))
    reading = replace(reading, phrases=tuple(replace(p, dynamic="p") for p in reading.phrases))
    lineup = players("oboe", "clarinet_bb", "flute")
    choices = [Choice(player.name, "s2", ("s2.1",), 0, 0, sketch.end) for player in lineup.players]
    choices.append(Choice("oboe", "s1", ("s1.1",), 0, 0, sketch.end))
    told = marks(make_score(sketch, lineup, choices, reading))
    assert told == {"oboe": ["p"], "clarinet_bb": ["pp"], "flute": ["pp"]}


def under(
    chord: str, dynamic: str = "p", lower: str = "E4:1 D4:1 E4:1 D4:1 E4:1 D4:1 E4:1 D4:1", role: str = "inner"
) -> list[str]:
    """Dynamics of `chord` instruments (two of them) under a solo oboe of two bars; what they have, in which role."""
    sketch = make_sketch(["C5:4 D5:4", lower], marks=[Mark("dynamic", 0, 0, -1, dynamic)])
    reading = read_hand(sketch, ("melody", role))
    reading = replace(reading, phrases=tuple(replace(p, dynamic=dynamic) for p in reading.phrases))
    lineup = players("oboe", chord, chord)
    choices = [Choice("oboe", "s1", ("s1.1",), 0, 0, sketch.end)]
    choices += [Choice(f"{chord} {k}", "s2", ("s2.1",), 0, 0, sketch.end) for k in (1, 2)]
    told = marks(make_score(sketch, lineup, choices, reading))
    assert told["oboe"] == [dynamic]
    return told[f"{chord} 1"]


def test_what_moves_near_the_tune_and_is_stronger_gives_way() -> None:
    assert under("horn") == ["pp"]
    assert under("clarinet_bb", "mf") == ["mp"]


def test_where_it_is_loud_it_is_two_degrees_softer_if_one_is_not_enough() -> None:
    high = "E5:1 D5:1 E5:1 D5:1 E5:1 D5:1 E5:1 D5:1"
    assert under("trumpet_bb", "f", lower=high) == ["mp"]
    assert under("trumpet_bb", "mf", lower=high) == ["mp"]
    assert under("bassoon", "f", lower=high) == ["f"]


def test_a_bass_and_its_after_beats_in_one_hand_have_one_dynamic() -> None:
    beats = "-:1 E4:1 E4:1 E4:1 -:1 F4:1 F4:1 F4:1"
    sketch = make_sketch(["C5:4 D5:4", beats, "C3:1 -:3 F3:1 -:3"], marks=[Mark("dynamic", 0, 0, -1, "p")])
    reading = read_hand(sketch, ("melody", "rhythm", "bass"))
    reading = replace(reading, phrases=tuple(replace(p, dynamic="p") for p in reading.phrases))
    has = [("oboe", "s1"), ("horn", "s2"), ("cello", "s2"), ("cello", "s3")]
    choices = [Choice(name, strand, (f"{strand}.1",), 0, 0, sketch.end) for name, strand in has]
    score = make_score(sketch, players("oboe", "horn", "cello"), choices, reading)
    assert marks(score) == {"oboe": ["p"], "horn": ["pp"], "cello": ["pp"]}


def test_an_introduction_is_as_soft_as_what_it_introduces() -> None:
    beats = "E4:1 F4:1 E4:1 F4:1"
    for tune, wanted in (("-:4 C5:4", ["pp"]), ("C5:4 -:4", ["pp", "p"])):
        sketch = make_sketch([tune, f"{beats} {beats}"], marks=[Mark("dynamic", 0, 0, -1, "p")])
        reading = read_hand(sketch, ("melody", "rhythm"))
        reading = replace(reading, phrases=tuple(replace(p, dynamic="p") for p in reading.phrases))
        half = sketch.end // 2
        spans = ((0, half), (half, sketch.end))
        choices = [Choice("oboe", "s1", ("s1.1",), 0, 0, sketch.end)]
        choices += [Choice(f"horn {k}", "s2", ("s2.1",), 0, *span) for k in (1, 2) for span in spans]
        score = make_score(sketch, players("oboe", "horn", "horn"), choices, reading)
        assert marks(score) == {"oboe": ["p"], "horn 1": wanted, "horn 2": wanted}


def test_what_is_held_gives_way_where_it_is_much_stronger() -> None:
    assert under("horn", "mf", lower="E4:4 D4:4") == ["mp"]
    assert under("horn", "f", lower="E4:4 D4:4") == ["f"]


def test_not_where_it_is_held_or_far_or_a_line_of_its_own_or_as_soft_as_can_be() -> None:
    assert under("horn", lower="E4:4 D4:4") == ["p"]
    assert under("horn", lower="E3:1 D3:1 E3:1 D3:1 E3:1 D3:1 E3:1 D3:1") == ["p"]
    assert under("horn", role="counterline") == ["p"]
    assert under("horn", "ppp") == ["ppp"]
