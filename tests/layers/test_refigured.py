"""Broken octaves become octaves that carry both of the sketch's notes."""

from __future__ import annotations

from itertools import pairwise

from autoorch.layers.refigured import broken_octaves, refigured
from autoorch.rules import coverage, report, techniques
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.solver.result import note_fates
from tests.layers.test_counterline import cue
from tests.support.tiny import BAR, TICKS, line, players, problem, strand, taken

MURKY = "C2 C3 C2 C3 G2 G3 G2 G3"


def pairs(text: str, least: int = 2) -> list[tuple[str, str]]:
    return [(str(a.pitch), str(b.pitch)) for a, b in broken_octaves(line("s.1", text, 0.5).notes, least)]


def test_runs_of_pairs() -> None:
    assert pairs(MURKY) == [("C2", "C3"), ("C2", "C3"), ("G2", "G3"), ("G2", "G3")]
    assert pairs("C3 C2 D3 D2 E3 F3 G3 A3") == [("C3", "C2"), ("D3", "D2")]
    assert pairs("E3 C2 C3 D2 D3 F3") == [("C2", "C3"), ("D2", "D3")]


def test_a_leap_or_two_are_no_figure() -> None:
    assert pairs("C2 C3 D2 E2 F2 G2") == []
    assert pairs("C2 C3 D3 D2 E2 F2") == [], "one up, one down"
    assert pairs("C2 C3 - - D2 D3 - E2") == [], "not in a row"


def test_the_lines_carry_every_note_and_stand_for_it() -> None:
    here = cue(("C5 2", "E5 2"))
    (bass,) = refigured(here, [strand("s3", "bass", line("s3.1", MURKY, 0.5))])
    own, low, high = bass.lines
    assert low.reduced and high.reduced and not own.reduced
    assert [str(note.pitch) for note in low.notes] == ["C2", "C2", "G2", "G2"]
    assert [str(note.pitch) for note in high.notes] == ["C3", "C3", "G3", "G3"]
    assert [note.duration for note in low.notes] == [TICKS] * 4
    assert {source for note in low.notes for source in note.sources} == {note.id for note in own.notes}

    data = problem(players("violin", "cello", "bassoon"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")), bass)
    tune = ("violin", "s1.1", 0)
    as_octaves = taken(data, tune, ("cello", "s3.low", 0), ("bassoon", "s3.high", 0))
    as_it_stands = taken(data, tune, ("cello", "s3.1", 0))
    assert not report(coverage, data, as_octaves).broken
    assert report(coverage, data, as_octaves).cost == 0
    assert report(techniques, data, as_octaves).cost == 0 < report(techniques, data, as_it_stands).cost

    notes = tuple(SketchNote(n.id, n.onset, n.duration, n.pitch, 0, 1) for n in own.notes)
    sketch = Sketch(TICKS, (Staff(0, ""),), (Bar(0, "1", 0, BAR, (4, 4), 0),), notes)
    assert {fate.fate for fate in note_fates(sketch, data, as_octaves)} == {"re-figured"}
    assert {fate.fate for fate in note_fates(sketch, data, as_it_stands)} == {"copied"}


def test_a_figure_in_pieces_is_one_line_too() -> None:
    here = cue(("C5 4",))
    pieces = (line("s2.1", "- E4 G4 -"), line("s2.2", "C4 - - E4"))
    (figure,) = refigured(here, [strand("s2", "figure", *pieces, texture="arpeggio")])
    whole = figure.lines[-1]
    assert [str(note.pitch) for note in whole.notes] == ["C4", "E4", "G4", "E4"]
    assert whole.reduced and whole.instead
    data = problem(players("viola", "viola"), figure)
    (one,) = (o.index for o in data.options if o.lines == (2,) and o.player == 0 and not o.octave and o.share == 12)
    assert report(coverage, data, frozenset({one})).cost == 0
    assert report(techniques, data, frozenset({one})).cost == 0
    assert report(techniques, data, taken(data, ("viola 1", "s2.1", 0), ("viola 2", "s2.2", 0))).cost > 0


def test_overlapping_notes_end_where_the_next_begins_and_chords_stay_in_lines() -> None:
    here = cue(("C5 4",))
    held = (line("s2.1", "- E4 - G4", 1), line("s2.2", "C4 - C4 -", 1.5))
    (figure,) = refigured(here, [strand("s2", "figure", *held)])
    ends = [(note.onset, note.end) for note in figure.lines[-1].notes]
    assert all(a[1] <= b[0] for a, b in pairwise(ends))
    chords = (line("s2.1", "E4 G4 E4 G4", 1), line("s2.2", "C4 C4 C4 C4", 1))
    (same,) = refigured(here, [strand("s2", "figure", *chords)])
    assert len(same.lines) == 2
