"""Tempo marks of our own: where, in what words, and that the mock-up keeps its tempo unless it is asked."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import mido
import pytest

from autoorch.brief import Brief
from autoorch.delivery import outputs
from autoorch.layers.cue import Cue
from autoorch.layers.plan import make_plan
from autoorch.layers.tempi import tempi, told_tempi
from autoorch.lineup import parse_lineup
from autoorch.pipeline import draft
from autoorch.roles import read_roles
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Mark, Sketch
from autoorch.tables import load_tables

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TABLES = load_tables()


@lru_cache(maxsize=4)
def bare(piece: str) -> Sketch:
    """The example without what it says of its tempo itself, but for the mark at its beginning."""
    sketch = read_sketch(EXAMPLES / piece / "sketch.musicxml")
    notes = tuple(replace(n, marks=tuple(m for m in n.marks if m != "fermata")) for n in sketch.notes)
    marks = tuple(m for m in sketch.marks if m.kind not in ("tempo", "words") or m.onset == 0)
    return replace(sketch, notes=notes, marks=marks)


def cue(sketch: Sketch, brief: Brief, **characters: str) -> Cue:
    """For chamber; `all="dance"` gives every phrase that character."""
    reading, players = read_roles(sketch), parse_lineup("chamber", TABLES)
    if characters:
        reading = reading.with_(phrases=tuple(replace(p, character=characters["all"]) for p in reading.phrases))
    return Cue(sketch, reading, make_plan(sketch, reading, players, brief, TABLES), players, brief, TABLES)


def said(here: Cue) -> list[tuple[str, str]]:
    return [(here.sketch.bar_at(mark.onset).number, mark.value) for mark in tempi(here)]


def test_the_last_return_and_the_last_bars_are_slowed_in_brackets() -> None:
    """The waltz's tune comes back for the last time with the upbeat to bar 49; its last chord is bar 64."""
    here = cue(bare("lighthouse-waltz"), Brief(), all="lyrical")
    assert said(here) == [("48", "[poco rit.]"), ("48", "[a tempo]"), ("63", "[rit.]")]
    back = tempi(here)[1].onset
    assert back in {phrase.start for phrase in here.plan}
    assert told_tempi(here, tempi(here)) == (
        "tempo marks that the sketch does not have stand in bars 48, 63 (in brackets, not played by the mock-up)",
    )


def test_a_dance_goes_on_in_tempo() -> None:
    assert said(cue(bare("lighthouse-waltz"), Brief(), all="dance")) == []


@pytest.mark.parametrize(
    "mark", [Mark("tempo", 0, 0, -1, "96"), Mark("words", 0, 0, 0, "poco rall."), Mark("words", 0, 0, 0, "(rit.)")]
)
def test_where_the_sketch_speaks_of_tempo_it_stays(mark: Mark) -> None:
    sketch = bare("lighthouse-waltz")
    there = next(bar.onset for bar in sketch.bars if bar.number == "62")
    own = replace(sketch, marks=(*sketch.marks, replace(mark, onset=there, end=there)))
    assert said(cue(own, Brief(), all="lyrical")) == [("48", "[poco rit.]"), ("48", "[a tempo]")]


def test_a_held_note_before_the_return_is_slow_enough() -> None:
    """As the waltz stands, bar 48 has a fermata."""
    sketch = bare("lighthouse-waltz")
    first = next(bar for bar in sketch.bars if bar.number == "48")
    held = tuple(
        replace(n, marks=(*n.marks, "fermata")) if first.onset <= n.onset < first.end else n for n in sketch.notes
    )
    assert said(cue(replace(sketch, notes=held), Brief(), all="lyrical")) == [("63", "[rit.]")]


@pytest.mark.parametrize(
    ("brief", "words"),
    [
        (Brief(intent="lean"), []),
        (Brief(under="dialogue"), []),
        (Brief(tempo="none"), []),
        (Brief(intent="faithful", tempo="marked"), ["[rit.]"]),
        (Brief(tempo="played"), ["rit."]),
    ],
)
def test_the_brief_has_the_say(brief: Brief, words: list[str]) -> None:
    assert [word for _, word in said(cue(bare("stone-chapel-chorale"), brief))] == words


def test_the_mock_up_slows_down_only_when_asked() -> None:
    found = {}
    for way in ("none", "marked", "played"):
        made = draft(bare("stone-chapel-chorale"), "string quartet", brief=Brief(tempo=way))
        first = made.score.parts[0].measures
        words = [d.value for m in first for d in m.directions if d.kind == "words" and d.everybody]
        file = io.BytesIO()
        outputs(made)["mockup.mid"](file)
        beats = [
            m.tempo for t in mido.MidiFile(file=io.BytesIO(file.getvalue())).tracks for m in t if m.type == "set_tempo"
        ]
        found[way] = (words, beats)
        others = [d.value for p in made.score.parts[1:] for m in p.measures for d in m.directions if not d.everybody]
        assert not any("rit" in word for word in others), "once on top, not in every part"
    assert [words for words, _ in found.values()] == [[], ["[rit.]"], ["rit."]]
    assert found["none"][1] == found["marked"][1] != found["played"][1]
    assert max(found["played"][1]) > max(found["none"][1]), "slower"
