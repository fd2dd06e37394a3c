"""Figures laid out anew: whole lines, broken octaves as octaves, broken chords with their first note over a held bass."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from autoorch.layers.model import MaterialLine
from autoorch.layers.refigured import broken_octaves, by_rank, refigured
from autoorch.lineup import parse_lineup
from autoorch.rules import coverage, report, techniques
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.solver.result import note_fates
from autoorch.tables import load_tables
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


def test_a_figure_in_pieces_is_one_line_and_nobody_can_have_half_of_it() -> None:
    here = cue(("C5 4",))
    pieces = (line("s2.1", "- E4 G4 -"), line("s2.2", "C4 - - E4"), replace(line("s2.r", "C4 E4 G4 E4"), reduced=True))
    (figure,) = refigured(here, [strand("s2", "figure", *pieces, texture="arpeggio")])
    (whole,) = figure.lines
    assert [str(note.pitch) for note in whole.notes] == ["C4", "E4", "G4", "E4"]
    assert {note.id for note in whole.notes} == {"s2.1.1", "s2.1.2", "s2.2.0", "s2.2.3"}
    data = problem(players("viola", "viola"), figure)
    one = taken(data, ("viola 1", whole.id, 0))
    assert report(coverage, data, one).cost == 0 == report(techniques, data, one).cost
    assert {o.lines for o in data.options} == {(0,)}


def test_off_beats_are_laid_out_by_rank() -> None:
    here = cue(("C5 4",))
    pieces = (line("s2.1", "- G4 - -"), line("s2.2", "- E4 - E4"), line("s2.3", "- - - C4"))
    (chords,) = refigured(here, [strand("s2", "rhythm", *pieces, texture="off-beats")])
    assert [[str(note.pitch) for note in ln.notes] for ln in chords.lines] == [["G4", "E4"], ["E4", "C4"]]


def test_a_line_of_the_fullest_chords_alone_goes_along_with_its_neighbour() -> None:
    here = replace(cue(("C5 4", "C5 4")), lineup=parse_lineup("romantic", load_tables()))
    upper, lower = "- G4 G4 G4 - G4 G4 A4", "- E4 E4 E4 - E4 E4 F4"

    def thin(third: str) -> list[str]:
        chords = [line(f"s2.{k}", text) for k, text in enumerate((upper, lower, third), 1)]
        (made,) = refigured(here, [strand("s2", "rhythm", *chords, texture="off-beats")])
        return [str(note.pitch) for note in made.lines[2].notes]

    assert thin("- C4 - - - - - C4") == "C4 E4 E4 E4 E4 C4".split()
    assert thin("- C4 C4 C4 - - - C4") == ["C4"] * 4, "a line of its own"
    assert thin("- - - - - - - C4") == ["C4"], "one stroke alone stays one"


def test_overlapping_notes_end_where_the_next_begins_and_held_ones_stay_in_lines() -> None:
    here = cue(("C5 4",))
    low = line("s2.2", "C4 - C4 -")
    leaning = (line("s2.1", "- E4 - G4"), replace(low, notes=tuple(replace(n, duration=6) for n in low.notes)))
    (figure,) = refigured(here, [strand("s2", "figure", *leaning)])
    (whole,) = figure.lines
    assert all(a.end <= b.onset for a, b in pairwise(whole.notes))
    assert {source for note in whole.notes for source in note.sources} == {n.id for ln in leaning for n in ln.notes}
    held = (line("s2.1", "G4", 4), line("s2.2", "C4 E4 C4 E4", 1))
    (same,) = refigured(here, [strand("s2", "figure", *held)])
    assert [ln.id for ln in same.lines] == ["s2.1", "s2.2"]
    assert [len(ln.notes) for ln in same.lines] == [1, 4]


def lasting(whole: MaterialLine, *crotchets: float) -> MaterialLine:
    """The line with its notes so long."""
    pairs = zip(whole.notes, crotchets, strict=True)
    return replace(whole, notes=tuple(replace(note, duration=round(length * TICKS)) for note, length in pairs))


def test_a_held_chord_over_a_moving_line_is_not_cut_where_there_are_lines_for_both() -> None:
    here = cue(("C5 4", "D5 4"))
    chords = (
        lasting(line("s2.1", "G4 - - - C4 C4 C4 C4"), 4, 1, 1, 1, 1),
        lasting(line("s2.2", "E4 - - - A3 A3 A3 A3"), 4, 1, 1, 1, 1),
    )
    moving = line("s2.3", "- C3 E3 G3 E3 C3 E3 G3", 0.5)
    strands = refigured(here, [strand("s2", "rhythm", *chords, moving, texture="off-beats")])
    upper, inner, low = ([(str(n.pitch), n.duration // TICKS) for n in ln.notes] for ln in strands[0].lines)
    assert upper == [("G4", 4), *4 * [("C4", 1)]]
    assert inner == [("E4", 4), *4 * [("A3", 1)]]
    assert [name for name, _ in low] == "C3 E3 G3 E3 C3 E3 G3".split()


def test_the_bass_is_held_under_off_beats_where_they_become_a_broken_chord() -> None:
    here = cue(("C5 4", "D5 4"))
    bass = strand("s3", "bass", line("s3.1", "C2 - - - - - - - C2", 0.5))
    broken = line("s2.1", "- G3 E3 G3 C4 G3 E3 G3 - G3 - G3 - G3 - G3", 0.5)
    _, low = refigured(here, [strand("s2", "rhythm", broken, texture="off-beats"), bass])
    assert [note.duration for note in low.lines[0].notes] == [4 * TICKS, TICKS // 2]


def test_a_bass_is_not_cut_before_the_chord_that_it_is_due_under() -> None:
    chords = line("s2.1", "E4 G4 E4 G4 E4 - E4 G4 E4 G4 E4 G4 E4 G4 E4 G4", 0.5)
    low = replace(line("s2.2", "- - - - - C3 - -", 0.5).notes[0], duration=2 * TICKS)
    table = load_tables().rule("patterns")["instead"]

    due = {low.sources[0]: low.onset + TICKS}

    def length(due: dict[str, int], most: int) -> int:
        found = by_rank([*chords.notes, low], table, due, most)
        assert found is not None
        return next(note.duration for ln in found for note in ln if note.pitch.midi == 48)

    assert length({}, 1) == TICKS // 2
    assert by_rank([*chords.notes, low], table, due, 1) is None
    assert length(due, 2) == 2 * TICKS


def test_what_one_hand_cannot_reach_stays_in_lines() -> None:
    here = cue(("C5 4",))
    wide = (line("s2.1", "- E5 G5 -"), line("s2.2", "C2 - - E2"))
    (same,) = refigured(here, [strand("s2", "figure", *wide)])
    assert [[str(note.pitch) for note in ln.notes] for ln in same.lines] == [["E5", "G5"], ["C2", "E2"]]


def test_a_broken_chord_has_its_first_note_and_its_bass_is_held() -> None:
    here = cue(("C5 4",))
    bass = strand("s3", "bass", line("s3.1", "C3 - - - C3 - - -", 0.5))
    figure = strand("s2", "figure", line("s2.1", "- G3 E3 G3 - G3 E3 G3", 0.5), texture="alberti")
    moving, low = refigured(here, [figure, bass])
    assert [str(note.pitch) for note in moving.lines[0].notes] == "C3 G3 E3 G3 C3 G3 E3 G3".split()
    assert moving.lines[0].notes[0].sources == ("s3.1.0",)
    assert [(note.onset, note.duration) for note in low.lines[0].notes] == [(0, 2 * TICKS), (2 * TICKS, 2 * TICKS)]


def test_a_leaping_bass_and_dots_stay() -> None:
    here = cue(("C5 4",))
    figure = strand("s2", "figure", line("s2.1", "- G4 E4 G4 - G4 E4 G4", 0.5), texture="alberti")
    bass = line("s3.1", "C2 - - - C2 - - -", 0.5)
    moving, low = refigured(here, [figure, strand("s3", "bass", bass)])
    assert moving.lines == figure.lines, "two octaves below the figure"
    dotted = replace(bass, notes=tuple(replace(n, marks=("staccato",)) for n in bass.notes))
    _, dry = refigured(here, [figure, strand("s3", "bass", dotted)])
    assert low.lines[0].notes[0].duration > dry.lines[0].notes[0].duration == bass.notes[0].duration
