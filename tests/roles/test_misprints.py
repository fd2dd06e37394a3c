"""Likely misprints: those that are planted are asked about, Bach's own notes hardly ever, and nothing is mended."""

from __future__ import annotations

import copy
from dataclasses import replace
from pathlib import Path

import pytest

from autoorch.pitch import parse
from autoorch.roles import read_roles
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Sketch
from tests.roles.support import TICKS, piece, sketch

CHORALES = ("bach/bwv66.6", "bach/bwv269", "bach/bwv302", "bach/bwv318", "bach/bwv347", "bach/bwv153.1")
CADENCE = [("C3", "E4", "G4", "C5"), ("F3", "F4", "A4", "C5"), ("G3", "F4", "B4", "D5"), ("C3", "E4", "G4", "C5")]


def bars(*chords: tuple[str, ...]) -> list[tuple[float, float, str]]:
    return [(4.0 * k + 2 * half, 2.0, name) for k, chord in enumerate(chords) for half in (0, 1) for name in chord]


def respelled(read: Sketch, place: int, name: str) -> Sketch:
    """The sketch with one note's pitch changed."""
    notes = list(read.notes)
    notes[place] = replace(notes[place], pitch=parse(name))
    return replace(copy.copy(read), notes=tuple(notes))


@pytest.mark.parametrize("work", CHORALES)
def test_bach_is_hardly_asked_anything(work: str) -> None:
    assert len(read_roles(piece(work)).queries) <= 1


def test_a_wrong_accidental_far_from_the_key() -> None:
    read = sketch(*bars(*CADENCE), bars=4)
    assert read_roles(read).queries == ()
    place = next(k for k, note in enumerate(read.notes) if str(note.pitch) == "A4")
    queries = read_roles(respelled(read, place, "Abb4")).queries
    assert len(queries) == 1 and queries[0].startswith("bar 2: Abb4 is spelled far from C major")


def test_one_bar_of_many_has_another_accidental() -> None:
    bar = ("C3", "E4", "G4", "B4", "D5")
    read = sketch(*bars(*[bar] * 6), bars=6)
    assert not any("where bar" in query for query in read_roles(read).queries)
    place = next(k for k, n in enumerate(read.notes) if str(n.pitch) == "D5" and n.onset == 16 * TICKS)
    assert "bar 5: D#5, where bar 1 has D5" in read_roles(respelled(read, place, "D#5")).queries


def test_a_note_that_leads_nowhere_beside_its_other_form() -> None:
    close = [("G3", "F4", "G4", "B4"), ("C3", "E4", "G4", "C#5")]
    read = sketch(*bars(*CADENCE, *CADENCE[:2], *close), bars=8)
    assert any(query.startswith("bar 8: C#5 beside C3") for query in read_roles(read).queries)


def test_a_bar_that_is_too_long() -> None:
    read = sketch(*bars(*CADENCE), bars=4)
    long = replace(read.bars[1], length=5 * TICKS)
    later = tuple(replace(bar, onset=bar.onset + TICKS) for bar in read.bars[2:])
    moved = tuple(replace(n, onset=n.onset + TICKS) if n.onset >= read.bars[2].onset else n for n in read.notes)
    wrong = replace(copy.copy(read), bars=(read.bars[0], long, *later), notes=moved)
    assert "bar 2: holds 5/4 in 4/4" in read_roles(wrong).queries


def test_nothing_is_mended() -> None:
    read = respelled(sketch(*bars(*CADENCE), bars=4), 5, "Abb4")
    ids = {note for strand in read_roles(read).strands for line in strand.lines for note in line.notes}
    assert ids == {note.id for note in read.notes}
    assert str(read.by_id[read.notes[5].id].pitch) == "Abb4"


def test_a_tie_to_another_pitch(tmp_path: Path) -> None:
    def note(step: str, tie: str) -> str:
        return (
            f"<note><pitch><step>{step}</step><octave>5</octave></pitch><duration>4</duration><tie type='{tie}'/>"
            f"<voice>1</voice><type>whole</type><notations><tied type='{tie}'/></notations></note>"
        )

    def bars_of(second: str) -> str:
        time = "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
        return (
            "<score-partwise><part-list><score-part id='P1'><part-name/></score-part></part-list><part id='P1'>"
            f"<measure number='1'>{time}{note('C', 'start')}</measure>"
            f"<measure number='2'>{note(second, 'stop')}</measure></part></score-partwise>"
        )

    for second, asked in (("C", ()), ("D", ("bar 2: a tie leads to another pitch",))):
        path = tmp_path / f"{second}.musicxml"
        path.write_text(bars_of(second), "utf-8")
        assert read_roles(read_sketch(path)).queries == asked
