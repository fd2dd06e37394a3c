"""Inner lines in one division a beat."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from autoorch.brief import Brief
from autoorch.layers.counted import counted
from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand, PhrasePlan
from autoorch.lineup import parse_lineup
from autoorch.pitch import parse
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.tables import load_tables

TABLES = load_tables()
BEAT = 120
THREES, FIVES, FOURS = (tuple(Fraction(k, n) for k in range(n)) for n in (3, 5, 4))


def attacks(*places: Fraction, role: str = "inner") -> list[Fraction]:
    """Where the notes of one beat are struck in the end, in beats; every note is one of them."""
    ticks = sorted({round(place * BEAT) for place in places})
    ends = [*ticks[1:], BEAT]
    notes = tuple(SketchNote(f"n{t}", t, e - t, parse("C4"), 0, 1) for t, e in zip(ticks, ends, strict=True))
    sketch = Sketch(BEAT, (Staff(0, ""),), (Bar(0, "1", 0, 4 * BEAT, (4, 4), 0),), notes)
    reading = Reading((), (Phrase(0, 4 * BEAT, dynamic="p"),), ())
    plan = (PhrasePlan(0, 4 * BEAT, 0.4, "p"),)
    cue = Cue(sketch, reading, plan, parse_lineup("chamber", TABLES), Brief(), TABLES)
    line = MaterialLine("s1.1", tuple(MaterialNote(n.id, n.onset, n.duration, n.pitch, (n.id,)) for n in notes))
    (found,) = counted(cue, (MaterialStrand("s1", role, "assigned", (line,)),))
    own = found.lines[0].notes
    assert {source for note in own for source in note.sources} == {note.id for note in notes}
    assert all(a.end <= b.onset and a.duration > 0 for a, b in pairwise(own))
    kept = {note.id for note in own if (note.id,) == note.sources}
    assert kept == {f"n{note.onset}" for note in own if note.onset in ticks and (f"n{note.onset}",) == note.sources}
    return [Fraction(note.onset, BEAT) for note in own]


def test_strays_go_to_the_nearest_free_place_of_what_most_are_in() -> None:
    quarter, third = Fraction(1, 4), Fraction(1, 3)
    assert attacks(*THREES, quarter) == [0, Fraction(1, 6), third, 2 * third]
    assert attacks(*FIVES, third) == [0, *(Fraction(k, 10) for k in (2, 3, 4, 6, 8))]


def test_what_can_be_counted_stays() -> None:
    half = Fraction(1, 2)
    for places in (
        THREES,
        FIVES,
        FOURS,
        (*THREES, half),
        (Fraction(0), Fraction(1, 4), half, Fraction(2, 3), Fraction(5, 6)),
    ):
        assert attacks(*places) == sorted(places)


def test_a_tune_is_as_it_is() -> None:
    assert attacks(*FIVES, Fraction(1, 3), role="melody") == sorted((*FIVES, Fraction(1, 3)))
