"""Where second lines and echoes are offered, and that they sit on the cue."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from autoorch.brief import Brief
from autoorch.layers.counterline import counterlines, offered, room
from autoorch.layers.cue import Cue
from autoorch.layers.echoes import echoes
from autoorch.layers.model import PhrasePlan, Turn
from autoorch.lineup import parse_lineup
from autoorch.pitch import parse
from autoorch.roles.model import Chord, Entry, Line, Phrase, Reading, Strand
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.tables import load_tables

TABLES = load_tables()
TICKS, BAR = 4, 16
LONG = ("C5 2", "E5 2", "D5 1", "E5 1", "F5 2", "G5 4", "A5 2", "G5 2", "F5 2", "D5 2", "C5 4")
CLOSE = ("C5 1", "D5 1", "E5 1", "F5 1", "E5 .5", "D5 .5", "E5 1", "C5 4", "- 6")


def cue(
    tune: tuple[str, ...],
    dynamic: str = "mp",
    weight: float = 0.4,
    label: str = "A",
    role: str = "melody",
    texture: str = "",
    entries: tuple[Entry, ...] = (),
) -> Cue:
    """One phrase in C major, a bar each of I, IV, V and I again; `tune` in crotchets, which another `role` may have as well."""
    notes: list[SketchNote] = []
    at = 0
    for word in tune:
        name, length = word.split()
        ticks = round(float(length) * TICKS)
        if name != "-":
            notes.append(SketchNote(f"n{len(notes)}", at, ticks, parse(name), 0, 1))
        at += ticks
    count = -(-at // BAR)
    bars = tuple(Bar(k, str(k + 1), k * BAR, BAR, (4, 4), 0) for k in range(count))
    members = [(0, 4, 7), (5, 9, 0), (7, 11, 2), (0, 4, 7)]
    chords = tuple(
        Chord(b.onset, b.end, m[0], m[1], m[0], m, key=(0, "major"))
        for b, m in ((b, members[b.index % 4]) for b in bars)
    )
    if len(tune) == len(CLOSE):
        chords = tuple(replace(c, root=0, third=4, bass=0, members=(0, 4, 7)) for c in chords)
    strand = Strand("s1", "melody", (Line("s1.1", tuple(n.id for n in notes)),))
    other = Strand("s2", role, (Line("s2.1", tuple(n.id for n in notes)),), texture)
    sketch = Sketch(TICKS, (Staff(0, ""),), bars, tuple(notes))
    end = bars[-1].end
    reading = Reading(
        (strand, other) if role != "melody" else (strand,), (Phrase(0, end, label, dynamic),), chords, tempo=80,
        entries=entries,
    )  # fmt: skip
    plan = (PhrasePlan(0, end, weight, dynamic, label=label),)
    return Cue(sketch, reading, plan, parse_lineup("romantic", TABLES), Brief(), TABLES)


def test_a_tune_of_long_notes_gets_a_second_line() -> None:
    (strand,) = counterlines(cue(LONG))
    notes = strand.lines[0].notes
    assert strand.complete and strand.role == strand.layer == "counterline"
    assert "below a tune of long notes from bar 1" in strand.reason
    assert notes[0].onset == 0
    assert all(a.end == b.onset for a, b in pairwise(notes))
    assert all(note.pitch.midi <= 67 for note in notes)
    pitches = [note.pitch.midi for note in notes]
    assert max(pitches) - min(pitches) >= 7


def test_not_where_the_plan_wants_little_or_the_sketch_has_one() -> None:
    table = TABLES.rule("counterline")["offer"]
    assert offered(cue(LONG), table) == [0]
    assert offered(cue(LONG, weight=0.2), table) == []
    assert offered(cue(LONG, dynamic="ppp"), table) == []
    assert offered(cue(LONG, role="counterline"), table) == []
    assert offered(cue(LONG, role="inner", texture="line"), table) == []
    assert offered(cue(LONG, role="inner", texture="hymn"), table) == []
    assert offered(cue(LONG, role="inner", texture="held chords"), table) == [0]
    assert offered(cue(LONG, entries=(Entry(1, 0, ("n0", "n1")),)), table) == []


def test_it_has_ended_where_a_tutti_comes() -> None:
    table = TABLES.rule("counterline")["offer"]
    whole = cue(LONG)
    loud = Turn(5 * BAR, "ff", 0.9, scheme="full chord in each family")
    end = whole.plan[0].end
    assert room(whole.plan[0], table) == (0, end)
    grows = replace(whole, plan=(replace(whole.plan[0], turns=(loud,)),))
    assert room(grows.plan[0], table) == (0, 5 * BAR)
    (strand,) = counterlines(grows)
    assert strand.lines[0].notes[-1].end == 5 * BAR < counterlines(whole)[0].lines[0].notes[-1].end
    falls = replace(whole.plan[0], dynamic="ff", turns=(replace(loud, dynamic="mp", scheme=""),))
    assert room(falls, table) == (5 * BAR, end)
    early = replace(whole, plan=(replace(whole.plan[0], turns=(replace(loud, start=BAR),)),))
    assert offered(early, table) == []


def test_a_restatement_does_with_fewer_long_notes() -> None:
    quick = (*("C5 1", "E5 1", "D5 1", "E5 1") * 3, "G5 3", "E5 1")
    table = TABLES.rule("counterline")["offer"]
    assert offered(cue(quick), table) == []
    assert offered(cue(quick, label="A'"), table) == [0]


def test_a_held_close_is_echoed_an_octave_away() -> None:
    (echo,) = echoes(cue(CLOSE), ())
    notes = echo.lines[0].notes
    assert [str(note.pitch) for note in notes] == ["E6", "D6", "E6", "C6"]
    assert notes[0].onset == 7 * TICKS, "a beat after the tune's last note"
    assert echo.reason == "an echo of the tune's close in bar 2, beat 4"


def test_no_echo_when_loud_or_where_a_second_line_is() -> None:
    assert echoes(cue(CLOSE, dynamic="ff"), ()) == ()
    assert echoes(cue(CLOSE), (0,)) == ()


def test_no_echo_where_the_harmony_has_moved_on() -> None:
    here = cue(CLOSE)
    third = here.sketch.bars[2]
    chords = tuple(
        replace(chord, root=5, third=9, bass=5, members=(5, 9, 0)) if chord.start == third.onset else chord
        for chord in here.reading.chords
    )
    assert echoes(replace(here, reading=replace(here.reading, chords=chords)), ()) == ()


def test_where_all_wait_the_second_line_waits_too() -> None:
    here = cue(LONG)
    notes = tuple(replace(n, marks=("fermata",)) if n.id == "n5" else n for n in here.sketch.notes)
    held = next(n for n in notes if n.marks)
    (strand,) = counterlines(replace(here, sketch=replace(here.sketch, notes=notes)))
    last = strand.lines[0].notes[-1]
    assert last.onset <= held.onset and last.end == held.end
