"""Figures made of chords: 20 patterns and more, each inside its own limits, on the chords' notes; percussion that runs through
only where a character asks for it."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import pytest

from autoorch.brief import Brief
from autoorch.layers.accompaniment import figures, laid_out, still, suits
from autoorch.layers.beats import beats
from autoorch.layers.cells import slots, whole_bars
from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialStrand, PhrasePlan
from autoorch.lineup import parse_lineup
from autoorch.pitch import parse
from autoorch.roles.model import Chord, Phrase, Reading
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.tables import load_tables

TABLES = load_tables()
PATTERNS = TABLES.rule("patterns")["pattern"]
BEATS = TABLES.rule("patterns")["beat"]


@lru_cache(maxsize=64)
def cue(metre: str, tempo: float, dynamic: str, character: str, weight: float = 0.6) -> Cue:
    """Four bars of held chords, I IV V I in C major, the second half of bar 2 on another chord."""
    beats_, unit = (int(part) for part in metre.split("/"))
    ticks = 12
    length = beats_ * 4 * ticks // unit
    bars = tuple(Bar(k, str(k + 1), k * length, length, (beats_, unit), 0) for k in range(4))
    sketch = Sketch(ticks, (Staff(0, ""),), bars, ())
    half = length + length // 2 // ticks * ticks
    edges = [0, length, half or length + 1, 2 * length, 3 * length, 4 * length]
    names = [(0, 4, 7), (5, 9, 0), (2, 5, 9), (7, 11, 2), (0, 4, 7)]
    chords = tuple(
        Chord(a, b, m[0], m[1], m[0], m, key=(0, "major"))
        for a, b, m in zip(edges, edges[1:], names, strict=False)
        if b > a
    )
    phrases = (Phrase(0, 4 * length, dynamic=dynamic, character=character),)
    reading = Reading((), phrases, chords, tempo=tempo)
    plan = (PhrasePlan(0, 4 * length, weight, dynamic),)
    return Cue(sketch, reading, plan, parse_lineup("studio", TABLES), Brief(), TABLES)


def home(row: dict[str, object]) -> Cue:
    """A cue inside a row's limits."""
    low, high = row["tempo"]  # type: ignore[misc]
    character = row.get("characters", ("",))[0]  # type: ignore[index]
    return cue(row["metres"][0], (low + high) / 2, row["dynamics"][0], character)  # type: ignore[index]


def test_there_are_patterns_enough_and_all_differ() -> None:
    assert len(PATTERNS) >= 20
    assert len({row["id"] for row in PATTERNS}) == len(PATTERNS)
    known = set(TABLES.instruments)
    assert all(set(row["players"]) <= known for row in (*PATTERNS, *BEATS))


@pytest.mark.parametrize("row", PATTERNS, ids=lambda row: row["id"])
def test_each_pattern_lies_on_the_chords_inside_its_limits(row: dict[str, object]) -> None:
    here = home(row)
    assert suits(here, 0, row)
    lines = laid_out(here, 0, row, "f")
    assert len(lines) == (1 if row["shape"] == "broken" else row["lines"])
    for line in lines:
        for note in line.notes:
            chord = here.chord_at(note.onset)
            assert chord is not None and note.pitch.midi % 12 in chord.members
            assert row["low"] <= note.pitch.midi <= row["high"]  # type: ignore[operator]
            assert 0 <= note.onset < note.end <= here.sketch.end
    attacks = [[note.onset for note in line.notes] for line in lines]
    assert all(own == attacks[0] for own in attacks), "all lines of a figure move together"
    means = [sum(note.pitch.midi for note in line.notes) / len(line.notes) for line in lines]
    assert means == sorted(means, reverse=True), "highest line first"


@pytest.mark.parametrize("row", PATTERNS, ids=lambda row: row["id"])
def test_outside_its_limits_a_pattern_is_not_offered(row: dict[str, object]) -> None:
    here = home(row)
    phrase, plan = here.reading.phrases[0], here.plan[0]
    wrong = next(d for d in ("fff", "ppp") if d not in row["dynamics"])  # type: ignore[operator]
    assert not suits(replace(here, plan=(replace(plan, dynamic=wrong),)), 0, row)
    fast = here.reading.with_(tempo=row["tempo"][1] * 1.5)  # type: ignore[index]
    assert not suits(replace(here, reading=fast), 0, row)
    if "characters" in row:
        hymn = here.reading.with_(phrases=(replace(phrase, character="hymn"),))
        assert not suits(replace(here, reading=hymn), 0, row)
    alone = parse_lineup("brass quintet", TABLES)
    brass = {"horn", "trumpet_bb", "trumpet_c", "trombone"}
    if not set(row["players"]) & brass:  # type: ignore[call-overload]
        assert not suits(replace(here, lineup=alone), 0, row)


def test_motion_only_where_the_plan_wants_it() -> None:
    table = TABLES.rule("patterns")
    assert still(cue("4/4", 90, "mf", "", 0.6), table) == [0]
    assert still(cue("4/4", 90, "mf", "", 0.2), table) == []
    assert still(cue("4/4", 90, "mf", "hymn", 0.6), table) == []
    found = figures(cue("4/4", 90, "mf", "lyrical", 0.6))
    assert 0 < len(found) <= table["offered"]
    assert all(strand.complete and strand.layer == "accompaniment" and strand.reason for strand in found)


def test_a_held_slot_is_struck_again_on_a_new_chord() -> None:
    (row,) = (row for row in PATTERNS if row["id"] == "string tremolo")
    here = home(row)
    starts = [chord.start for chord in here.reading.chords]
    assert [note.onset for note in laid_out(here, 0, row, "f")[0].notes] == starts


def test_a_grid_too_coarse_for_a_slot_has_none() -> None:
    here = cue("4/4", 90, "mf", "")
    coarse = replace(here, sketch=replace(here.sketch, ticks=1, bars=(Bar(0, "1", 0, 4, (4, 4), 0),)))
    assert slots(coarse, coarse.sketch.bars[0], {"slot": 0.5, "cell": "1 2"}) == []


def test_percussion_runs_through_only_in_its_character() -> None:
    march = list(beats(cue("4/4", 112, "f", "march", 0.9)))
    assert march == []  # one phrase is the whole cue: more than its share
    here = cue("4/4", 112, "f", "march", 0.9)
    half = here.sketch.bars[1].end
    quarter = here.sketch.bars[0].end
    phrases = tuple(
        replace(here.reading.phrases[0], start=a, end=b) for a, b in ((0, quarter), (quarter, here.sketch.end))
    )
    plan = tuple(replace(here.plan[0], start=p.start, end=p.end) for p in phrases)
    split = replace(here, reading=here.reading.with_(phrases=phrases), plan=plan)
    found = list(beats(split))
    assert {strand.families for strand in found} == {("snare_drum",), ("bass_drum",)}
    by_name = {strand.texture: strand.lines[0].notes for strand in found}
    assert by_name["bass drum on the beats"][-1].end <= half, "three bars of four are more than its share"
    assert by_name["snare drum in march rhythm"][-1].end > half
    hymn = split.reading.with_(phrases=tuple(replace(p, character="hymn") for p in phrases))
    assert list(beats(replace(split, reading=hymn))) == []


def test_a_rhythm_that_has_a_name_belongs_to_pieces_of_that_name_or_with_its_attacks() -> None:
    """A slow dance in three is no polonaise; one that is called so, or whose bars have the rhythm, has it on the snare drum: an
    accented quaver, two semiquavers, four quavers."""
    here = cue("3/4", 92, "f", "dance", 0.9)
    halves = (here.sketch.bars[1].end, here.sketch.end)
    phrases = tuple(
        replace(here.reading.phrases[0], start=a, end=b) for a, b in zip((0, halves[0]), halves, strict=True)
    )
    plan = tuple(replace(here.plan[0], start=p.start, end=p.end) for p in phrases)
    dance = replace(here, reading=here.reading.with_(phrases=phrases), plan=plan)
    called = replace(dance, sketch=replace(dance.sketch, title="Polonaise in C"))
    cell = [SketchNote(f"n{k}", k * 6, 3, parse("C4"), staff=0, voice=1) for k in (0, 1, 2, 3, 4, 5)]
    cell.append(SketchNote("n6", 9, 3, parse("C4"), staff=0, voice=1))
    last = SketchNote("n7", here.sketch.end - 12, 12, parse("C4"), staff=0, voice=1)
    like = replace(dance, sketch=replace(dance.sketch, notes=(*cell, last)))

    def drums(one: Cue) -> list[MaterialStrand]:
        return [strand for strand in beats(one) if strand.families == ("snare_drum",)]

    assert drums(dance) == []
    (strand,) = drums(called)
    assert [n.duration for n in strand.lines[0].notes[:7]] == [6, 3, 3, 6, 6, 6, 6]
    assert [bool(n.marks) for n in strand.lines[0].notes[:7]] == [True, *[False] * 6]
    (strand,) = drums(like)
    assert strand.lines[0].notes[-1].onset == last.onset, "nobody drums on after the last chord"


def test_short_bars_are_passed_over() -> None:
    here = cue("4/4", 112, "f", "march")
    bars = (replace(here.sketch.bars[0], length=12), *here.sketch.bars[1:])
    assert len(whole_bars(replace(here, sketch=replace(here.sketch, bars=bars)), 0)) == 3
