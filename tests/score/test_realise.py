from __future__ import annotations

import pytest

from autoorch.errors import SketchError
from autoorch.lineup import parse_lineup
from autoorch.problem.draft import Choice
from autoorch.score.model import Event, Score
from autoorch.score.slurs import Slurs
from autoorch.sketch.model import Bar, Sketch
from autoorch.tables import load_tables
from tests.support.hand import make_score, make_sketch, read_hand, whole
from tests.support.tiny import players


def events(score: Score, part: int = 0) -> list[Event]:
    return [event for m in score.parts[part].measures for event in m.voices[0]]


def names(found: list[Event]) -> list[str]:
    return ["+".join(str(h.written) for h in e.heads) or "rest" for e in found]


def slurs(found: list[Event]) -> list[tuple[str, tuple[int, ...], tuple[int, ...]]]:
    return [(names([e])[0], e.slur_starts, e.slur_stops) for e in found if e.slur_starts or e.slur_stops]


def test_one_part_a_player_in_score_order_with_names_to_read() -> None:
    lineup = parse_lineup("chamber", load_tables())
    sketch = make_sketch(["C5:4"])
    score = make_score(sketch, lineup, [])
    assert [part.player for part in score.parts] == list(lineup.players)
    assert [part.id for part in score.parts] == [f"P{k}" for k in range(1, len(score.parts) + 1)]
    told = {part.name: part.short for part in score.parts}
    assert told["Horn in F"] == "Hn." and told["Violin I"] == "Vln. I" and told["Violin II"] == "Vln. II"
    assert all(e.value == "" and not e.heads for p in score.parts for m in p.measures for v in m.voices for e in v)


def test_a_note_belongs_to_the_span_in_which_it_starts() -> None:
    sketch = make_sketch(["C5:2 D5:4 E5:2"])
    choices = [Choice("flute", "s1", ("s1.1",), 1, 0, 4), Choice("oboe", "s1", ("s1.1",), 0, 4, 8)]
    score = make_score(sketch, players("flute", "oboe"), choices)
    assert names(events(score, 0)) == ["C6", "D6", "D6", "rest"]
    assert [h.tie_start for e in events(score, 0) for h in e.heads] == [False, True, False]
    assert names(events(score, 1)) == ["rest", "rest", "E5"]


def test_a_wind_player_leaves_a_held_note_when_his_next_one_begins() -> None:
    sketch = make_sketch(["C5:4 -:4", "-:2 E4:2 F4:4"])
    choices = [Choice("flute", "s1", ("s1.1",), 0, 0, 2), Choice("flute", "s2", ("s2.1",), 0, 2, 8)]
    score = make_score(sketch, players("flute"), choices)
    assert names(events(score)) == ["C5", "E4", "F4"]


def test_slurs_are_kept_where_whole_and_cut_anew_where_not() -> None:
    sketch = make_sketch(["C5:1 D5:1 E5:1 F5:1 G5:1 A5:1 B5:1 C6:1"], slurs=[("a0", "a7")])
    choices = [
        whole(sketch, "flute", 1), Choice("oboe", "s1", ("s1.1",), 0, 0, 4),
        Choice("violin", "s1", ("s1.1",), 0, 4, 8), Choice("violin", "s1", ("s1.1",), -1, 0, 4),
        Choice("horn", "s1", ("s1.1",), 0, 7, 8),
    ]  # fmt: skip
    score = make_score(sketch, players("flute", "oboe", "horn", "violin"), choices)
    assert slurs(events(score, 0)) == [("C5", (1,), ()), ("C6", (), (1,))]
    assert slurs(events(score, 1)) == [("C5", (1,), ()), ("F5", (), (1,))]
    assert slurs(events(score, 2)) == [], "one note alone has no slur"
    violin = slurs(events(score, 3))
    assert [name for name, _, _ in violin] == ["C4", "F4", "G5", "C6"], "a new octave is a new bow"


def test_a_section_in_octaves_has_the_slur_of_its_tune() -> None:
    sketch = make_sketch(["C5:1 D5:1 E5:1 F5:1"], slurs=[("a0", "a3")])
    both = [Choice("violin", "s1", ("s1.1",), octave, 0, 4, share=6) for octave in (0, -1)]
    found = slurs(events(make_score(sketch, players("violin"), both)))
    assert found == [("C4+C5", (1,), ()), ("F4+F5", (), (1,))]


def test_a_slur_from_chord_to_chord_covers_every_line_that_goes_along() -> None:
    music, slur = ["E5:1 F5:1 G5:2", "C5:1 D5:1 E5:2", "C4:1 D4:1 E4:2"], [("a0", "a2")]
    reading = read_hand(make_sketch(music, slurs=slur))
    chords = make_sketch(music, slurs=slur, notes={f"b{k}": {"staff": 0} for k in range(3)})
    found = Slurs.of(chords, reading)
    assert found.covering == {f"{line}{k}": (0,) for line in "ab" for k in range(3)}
    assert found.across == ()


def test_grace_notes_stand_before_their_note_only() -> None:
    grace = {"a1": {"duration": 0, "grace": "acciaccatura"}}
    sketch = make_sketch(["C5:2 B4:1 D5:2"], notes=grace)
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])
    assert [(e.grace, e.value, e.onset, e.duration) for e in events(score)] == [
        ("", "half", 0, 2), ("acciaccatura", "eighth", 2, 0), ("", "half", 2, 2),
    ]  # fmt: skip


def test_articulations_and_fermatas() -> None:
    marked = {"a0": {"marks": ("accent", "fingering", "staccato")}, "a2": {"marks": ("fermata",)}}
    sketch = make_sketch(["C5:1 D5:1 E5:2", "C3:4"], notes=marked)
    lineup = players("flute", "cello", "horn")
    score = make_score(sketch, lineup, [whole(sketch, "flute", 1), whole(sketch, "cello", 2)])
    assert [e.marks for e in events(score, 0)] == [("accent", "staccato"), (), ("fermata",)]
    assert [e.marks for e in events(score, 1)] == [("fermata",)], "under a held note"
    assert [e.marks for e in events(score, 2)] == [("fermata",)], "over a rest"


def test_a_pickup_and_a_metre_finer_than_the_sketch() -> None:
    sketch = make_sketch(["G4:1 C5:4"], pickup="1")
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])
    assert [(bar.number, bar.length) for bar in score.bars] == [("0", 1), ("1", 4)]
    assert names(events(score)) == ["G4", "C5"]
    rests = make_score(sketch, players("flute"), [])
    assert [e.value for e in events(rests)] == ["quarter", ""], "a whole-bar rest only in a whole bar"
    twelve = make_sketch(["C5:1 D5:2 E5:3"], metre=(12, 8))
    assert make_score(twelve, players("flute"), [whole(twelve, "flute", 1)]).ticks == 2


def test_a_rhythm_that_cannot_be_written_is_said_with_its_bar() -> None:
    sketch = make_sketch(["C5:1/4096 D5:16383/4096"])
    with pytest.raises(SketchError, match=r"^bar 1: a rhythm that can't be written"):
        make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])


def test_repeats_stay_as_they_are_written() -> None:
    sketch = make_sketch(["C5:4 D5:4"])
    first, second = sketch.bars
    bars = (first, Bar(1, "2", second.onset, second.length, (4, 4), 0, "major", repeat_end=2))
    changed = Sketch(sketch.ticks, sketch.staves, bars, sketch.notes)
    score = make_score(changed, players("flute"), [whole(changed, "flute", 1)])
    assert [bar.repeat_end for bar in score.bars] == [0, 2]


def test_grace_notes_that_lead_to_none_close_the_note_before() -> None:
    after = {"a1": {"duration": 0, "grace": "appoggiatura"}, "a2": {"duration": 0, "grace": "appoggiatura"}}
    sketch = make_sketch(["C5:2 B4:0 C5:0 -:1 D5:1"], notes=after)
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1, octave=1)])
    found = events(score)
    assert names(found) == ["C6", "B5", "C6", "rest", "D6"]
    assert [(e.grace, e.onset, e.value) for e in found[1:3]] == [("appoggiatura", 2, "16th")] * 2


def test_a_player_of_grace_notes_alone_has_them_written_out() -> None:
    alone = {"a0": {"duration": 0, "grace": "appoggiatura"}, "a1": {"duration": 0, "grace": "appoggiatura"}}
    sketch = make_sketch(["B4:0 C5:0 -:1", "C4:1/4 D4:15/4"], notes=alone)
    found = events(make_score(sketch, players("flute"), [whole(sketch, "flute", 1)]))
    assert [(n, e.value) for n, e in zip(names(found), found, strict=True)][:2] == [("B4", "16th"), ("C5", "16th")]
