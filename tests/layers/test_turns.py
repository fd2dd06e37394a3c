"""A phrase turns where its marks make it louder or softer for long enough, or inside a hairpin into another dynamic."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.brief import Brief
from autoorch.instruments import DYNAMICS
from autoorch.layers.chart import chart
from autoorch.layers.cue import Cue
from autoorch.layers.model import PhrasePlan
from autoorch.layers.plan import make_plan
from autoorch.layers.turns import find_levels, find_unisons
from autoorch.layers.tutti import roots
from autoorch.lineup import parse_lineup
from autoorch.pitch import from_midi
from autoorch.roles.model import Chord, Line, Phrase, Reading, Strand
from autoorch.sketch.model import Bar, Mark, Sketch, SketchNote, Staff
from autoorch.tables import load_tables

TABLES = load_tables()
TABLE = TABLES.rule("plan")["turn"]
BAR = 16


def cue(marks: tuple[Mark, ...], dynamics: tuple[str, str] = ("mf", "mf"), bass: int = 4) -> tuple[Sketch, Reading]:
    """Two phrases of four bars of 4/4 over one chord of C: a tune in semibreves, a bass of `bass` ticks at each bar's start."""
    bars = tuple(Bar(k, str(k + 1), BAR * k, BAR, (4, 4), 0) for k in range(8))
    tune = tuple(SketchNote(f"t{k}", BAR * k, BAR, from_midi(74), 0, 1) for k in range(8))
    low = tuple(SketchNote(f"b{k}", BAR * k, bass, from_midi(36), 1, 1) for k in range(8))
    strands = tuple(
        Strand(name, role, (Line(f"{name}.1", tuple(n.id for n in notes)),), "line")
        for name, role, notes in (("s1", "melody", tune), ("s2", "bass", low))
    )
    phrases = tuple(Phrase(64 * k, 64 * k + 64, "", dynamic) for k, dynamic in enumerate(dynamics))
    chord = Chord(0, 128, 0, 4, 0, (0, 4, 7), (), (0, "major"), "I")
    return Sketch(4, (Staff(0, ""), Staff(1, "")), bars, tune + low, marks=marks), Reading(strands, phrases, (chord,))


def plan(sketch: Sketch, reading: Reading) -> tuple[PhrasePlan, ...]:
    return make_plan(sketch, reading, parse_lineup("romantic", TABLES), Brief(), TABLES)


def marked(*marks: tuple[int, str]) -> tuple[Mark, ...]:
    return tuple(Mark("dynamic", tick, tick, -1, dynamic) for tick, dynamic in marks)


@pytest.mark.parametrize(
    ("marks", "dynamics", "expected"),
    [
        (marked((32, "ff")), ("mf", "mf"), [(0, "mf"), (32, "ff")]),
        (marked((16, "f"), (32, "ff")), ("mf", "mf"), [(0, "mf"), (16, "f"), (32, "ff")]),
        (marked((32, "p")), ("f", "f"), [(0, "f"), (32, "p")]),
        (marked((16, "ff"), (32, "p")), ("f", "f"), [(0, "f"), (16, "ff"), (32, "p")]),
        (marked((16, "f"), (32, "p"), (48, "f")), ("p", "p"), [(0, "p"), (48, "f")]),
        (marked((4, "f")), ("mf", "mf"), [(0, "f")]),
        (marked((32, "mp")), ("p", "p"), [(0, "p")]),
        (marked((32, "mf")), ("p", "p"), [(0, "p"), (32, "mf")]),
        (marked((60, "ff")), ("mf", "mf"), [(0, "mf")]),
        ((Mark("wedge", 16, 64, -1, "crescendo"),), ("p", "f"), [(0, "p")]),
        ((Mark("wedge", 16, 64, -1, "crescendo"),), ("p", "ff"), [(0, "p"), (32, "mf")]),
        ((Mark("wedge", 16, 64, -1, "diminuendo"),), ("f", "p"), [(0, "f"), (32, "mp")]),
        ((Mark("wedge", 16, 64, -1, "crescendo"),), ("f", "p"), [(0, "f")]),
        ((Mark("wedge", 48, 64, -1, "diminuendo"),), ("f", "p"), [(0, "f")]),
        ((Mark("wedge", 0, 32, -1, "crescendo"),), ("p", "ff"), [(0, "p")]),
        ((Mark("wedge", 0, 48, -1, "crescendo"), *marked((48, "ff"))), ("p", "p"), [(0, "p"), (16, "mf"), (48, "ff")]),
        ((Mark("wedge", 16, 48, -1, "crescendo"), *marked((48, "ff"))), ("p", "p"), [(0, "p"), (48, "ff")]),
        ((Mark("wedge", 0, 48, -1, "diminuendo"), *marked((48, "p"))), ("ff", "p"), [(0, "ff"), (16, "mf"), (48, "p")]),
        ((Mark("words", 16, 16, -1, "poco a poco cresc."),), ("p", "ff"), [(0, "p"), (32, "mf")]),
        ((Mark("words", 16, 16, -1, "dim."),), ("f", "p"), [(0, "f"), (32, "mp")]),
        ((Mark("words", 16, 16, -1, "dim."),), ("p", "ff"), [(0, "p")]),
        ((), ("p", "ff"), [(0, "p")]),
    ],
)
def test_where(marks: tuple[Mark, ...], dynamics: tuple[str, str], expected: list[tuple[int, str]]) -> None:
    levels = find_levels(*cue(marks, dynamics), TABLE)[0]
    assert [(tick, DYNAMICS[level]) for tick, level in levels] == expected


def test_of_too_many_the_shortest_go_first() -> None:
    marks = marked((16, "ff"), (32, "p"), (36, "p"), (48, "f"))
    levels = find_levels(*cue(marks, ("p", "p")), {**TABLE, "most": 1})[0]
    assert [(tick, DYNAMICS[level]) for tick, level in levels] == [(0, "p"), (48, "f")]


def test_fewer_play_where_a_loud_phrase_falls() -> None:
    sketch, reading = cue(marked((96, "p")), ("mf", "ff"))
    phrase = plan(sketch, reading)[1]
    before, after = phrase.at(95), phrase.at(96)
    assert phrase.peak and before.weight > after.weight + 0.4 and before.doublers > after.doublers
    assert before.scheme == "full chord in each family" and not after.scheme.startswith("full")
    assert "brass" in before.ground and "brass" not in after.ground


def test_more_join_from_the_crest_on() -> None:
    sketch, reading = cue((Mark("dynamic", 96, 96, -1, "ff"),))
    phrase = plan(sketch, reading)[1]
    before, after = phrase.at(95), phrase.at(96)
    assert phrase.peak and before.weight < after.weight and before.doublers < after.doublers
    assert "brass" in after.ground and "brass" not in before.ground
    assert after.scheme == "full chord in each family"
    assert [(a, b) for a, b, _ in phrase.parts] == [(64, 96), (96, 128)]
    assert f"ff {after.weight:.2f} from bar 7, full chord in each family" in chart(sketch, [phrase])


@pytest.mark.parametrize(("start", "top", "more"), [("mf", "ff", True), ("mp", "f", True), ("p", "ff", False)])
def test_players_enter_on_the_way_to_the_peak_but_not_before_a_sudden_one(start: str, top: str, more: bool) -> None:
    sketch, reading = cue(marked((96, top)), ("mf", start))
    phrase = plan(sketch, reading)[1]
    usual = TABLES.rule("plan")["weight"][start]
    assert phrase.peak and phrase.at(64).dynamic == start
    assert (phrase.at(64).weight > usual + 0.1) is more
    assert phrase.at(96).weight > phrase.at(64).weight + 0.2


@pytest.mark.parametrize(("bass", "tune", "expected"), [(4, BAR, [(96, 32)]), (16, BAR, []), (4, 4, [])])
def test_a_tutti_has_roots_that_last_where_something_sounds(
    bass: int, tune: int, expected: list[tuple[int, int]]
) -> None:
    sketch, reading = cue((Mark("dynamic", 96, 96, -1, "ff"),), bass=bass)
    cut = tuple(replace(n, duration=min(n.duration, tune)) if n.id.startswith("t") else n for n in sketch.notes)
    sketch = replace(sketch, notes=cut)
    own = Cue(sketch, reading, plan(sketch, reading), parse_lineup("romantic", TABLES), Brief(), TABLES)
    notes = [note for strand in roots(own) for line in strand.lines for note in line.notes]
    assert [(note.onset, note.duration) for note in notes] == expected
    assert all(note.pitch.midi % 12 == 0 and not note.sources for note in notes)


@pytest.mark.parametrize(
    ("kind", "ends", "expected"),
    [
        ("diminuendo", 80, [(64, "mf"), (80, "p")]),
        ("diminuendo", 60, [(64, "ff"), (80, "p")]),
        ("crescendo", 80, [(64, "ff"), (80, "p")]),
    ],
)
def test_a_phrase_that_begins_in_a_diminuendo_is_no_tutti(
    kind: str, ends: int, expected: list[tuple[int, str]]
) -> None:
    marks = (Mark("wedge", 48, ends, -1, kind), *marked((80, "p")))
    _, levels = find_levels(*cue(marks, ("ff", "ff")), TABLE)
    assert [(tick, DYNAMICS[level]) for tick, level in levels] == expected


@pytest.mark.parametrize(("first", "expected"), [(4, None), (BAR, BAR)])
def test_an_upbeat_in_octaves_is_no_tutti(first: int, expected: int | None) -> None:
    """What begins in octaves and goes on in chords: a head of one beat before the first whole bar, and one of a bar."""
    starts = [0, first, first + BAR, first + 2 * BAR]
    lengths = [first, BAR, BAR, BAR]
    bars = tuple(Bar(k, str(k), starts[k], lengths[k], (4, 4), 0) for k in range(4))
    notes = [(start, length, midi) for start, length in zip(starts, lengths, strict=True) for midi in (48, 60)]
    notes += [(start, BAR, 64) for start in starts[1:]]
    written = tuple(SketchNote(f"n{k}", a, b, from_midi(midi), 0, 1) for k, (a, b, midi) in enumerate(notes))
    sketch, reading = cue(())
    sketch = replace(sketch, bars=bars, notes=written)
    reading = replace(reading, phrases=(Phrase(0, first + 3 * BAR, "", "f"),))
    levels = find_levels(sketch, reading, TABLE)
    assert find_unisons(sketch, reading, levels, TABLES.rule("plan")["unison"]) == [expected]


def test_where_a_phrase_grows_who_has_the_tune_stays_on_it() -> None:
    """Material comes back mf, grows to f in its third bar, and a louder phrase follows: whoever joined goes on."""
    sketch, reading = cue(marked((64, "f")))
    ends = ((0, 32, "a", "mf"), (32, 96, "a'", "mf"), (96, 128, "b", "ff"))
    phrases = tuple(Phrase(start, end, label, dynamic) for start, end, label, dynamic in ends)
    grown = plan(sketch, replace(reading, phrases=phrases))[1]
    (turn,) = grown.turns
    assert turn.dynamic == "f" and grown.joined
    assert set(grown.joined) <= set(turn.joined)
