"""The last chord voiced afresh: each note of the sketch in one line, wide at the bottom, close on top, between bass and tune."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import pytest

from autoorch.brief import parse_brief
from autoorch.layers.assigned import assigned
from autoorch.layers.cue import Cue
from autoorch.layers.finale import TEXTURE, revoiced
from autoorch.layers.model import MaterialStrand
from autoorch.layers.plan import make_plan
from autoorch.lineup import parse_lineup
from autoorch.pipeline import Result, draft
from autoorch.roles import read_roles
from autoorch.sketch import read_sketch
from autoorch.tables import load_tables

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TABLES = load_tables()


@lru_cache(maxsize=8)
def cue(piece: str, lineup: str = "romantic") -> Cue:
    sketch = read_sketch(EXAMPLES / piece / "sketch.musicxml")
    reading, brief, players = read_roles(sketch), parse_brief(""), parse_lineup(lineup, TABLES)
    return Cue(sketch, reading, make_plan(sketch, reading, players, brief, TABLES), players, brief, TABLES)


def strands(here: Cue) -> tuple[MaterialStrand, ...]:
    return revoiced(here, assigned(here.sketch, here.reading, here.tables))


def last(found: Iterable[MaterialStrand]) -> MaterialStrand:
    """What has the sketch's notes."""
    (one,) = (strand for strand in found if strand.texture == TEXTURE and strand.layer == "assigned")
    return one


def between(found: Iterable[MaterialStrand]) -> MaterialStrand:
    """What is added to them."""
    (one,) = (strand for strand in found if strand.texture == TEXTURE and strand.layer == "finish")
    return one


@pytest.mark.parametrize("piece", ["harbour-snow-cue", "lighthouse-waltz"])
def test_all_of_the_chord_is_in_one_line_each_and_nowhere_else(piece: str) -> None:
    here = cue(piece)
    found = strands(here)
    tick = max(note.onset for note in here.sketch.notes)
    struck = [note for note in here.sketch.notes if note.onset == tick]
    chord = last(found)
    own = [source for line in chord.lines for note in line.notes for source in note.sources]
    others = [s for strand in found if strand is not chord for ln in strand.lines for n in ln.notes for s in n.sources]
    assert len(own) == len(set(own)) >= 3
    assert sorted({*own, *(s for s in others if here.sketch.by_id[s].onset == tick)}) == sorted(n.id for n in struck)
    assert not set(own) & set(others)
    by_class = {n.id: n.pitch.midi % 12 for n in struck}
    for line in chord.lines:
        (note,) = line.notes
        assert {by_class[source] for source in note.sources} <= {note.pitch.midi % 12}
        assert note.onset == tick and "fermata" in note.marks


def test_no_hole_where_two_hands_left_one() -> None:
    """The harbour's last chord: B2, F sharp 3, D4 in the left hand, F sharp 5 and B5 in the right, 16 semitones above it."""
    found = strands(cue("harbour-snow-cue"))
    assert all(not note.sources for line in between(found).lines for note in line.notes)
    assert all(note.sources for line in last(found).lines for note in line.notes)
    lines = (*last(found).lines, *between(found).lines)
    pitches = sorted(line.notes[0].pitch.midi for line in lines)
    assert pitches[-1] == 83, "the highest note stays the highest"
    assert all(above - below <= 9 for below, above in pairwise(pitches))
    assert all(above - below >= 3 for below, above in pairwise(pitches))


def test_few_players_and_short_last_chords_have_it_as_it_stands() -> None:
    quartet = cue("harbour-snow-cue", "string quartet")
    plain = assigned(quartet.sketch, quartet.reading, quartet.tables)
    assert revoiced(quartet, plain) == plain
    march = cue("paper-boats-march")
    plain = assigned(march.sketch, march.reading, march.tables)
    assert revoiced(march, plain) == plain, "a stab"
    here = cue("harbour-snow-cue")
    bare = replace(here, reading=replace(here.reading, chords=()))
    assert revoiced(bare, assigned(here.sketch, here.reading, here.tables)) == assigned(
        here.sketch, here.reading, here.tables
    )


def test_players_have_it_and_the_notes_count_as_written_anew() -> None:
    result: Result = draft(EXAMPLES / "harbour-snow-cue" / "sketch.musicxml", "romantic")
    chord = last(result.material.strands)
    both = {chord.id, between(result.material.strands).id}
    had = {choice.player for choice in result.draft.choices if choice.strand in both}
    assert {"Violins I", "Violins II", "Violas"} <= had
    sources = {s for line in chord.lines for note in line.notes for s in note.sources}
    fates = {fate.note: fate.fate for fate in result.draft.fates if fate.note in sources}
    assert any(added.strand == between(result.material.strands).id for added in result.draft.added)
    assert set(fates) == sources and not {"thinned", "dropped"} & set(fates.values())
    faithful = draft(
        EXAMPLES / "harbour-snow-cue" / "sketch.musicxml", "romantic", brief=parse_brief('intent = "faithful"')
    )
    assert all(strand.texture != TEXTURE for strand in faithful.material.strands)
