"""A phrase that grows has its crest where it comes to its loudest mark, or inside a crescendo into a louder phrase."""

from __future__ import annotations

import pytest

from autoorch.brief import Brief
from autoorch.layers.chart import chart
from autoorch.layers.crests import find_crests
from autoorch.layers.cue import Cue
from autoorch.layers.model import PhrasePlan
from autoorch.layers.plan import make_plan
from autoorch.layers.tutti import roots
from autoorch.lineup import parse_lineup
from autoorch.pitch import from_midi
from autoorch.roles.model import Chord, Line, Phrase, Reading, Strand
from autoorch.sketch.model import Bar, Mark, Sketch, SketchNote, Staff
from autoorch.tables import load_tables

TABLES = load_tables()
TABLE = TABLES.rule("plan")["crest"]
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


@pytest.mark.parametrize(
    ("marks", "dynamics", "expected"),
    [
        ((Mark("dynamic", 32, 32, -1, "ff"),), ("mf", "mf"), (32, "ff")),
        ((Mark("dynamic", 16, 16, -1, "f"), Mark("dynamic", 32, 32, -1, "ff")), ("mf", "mf"), (32, "ff")),
        ((Mark("wedge", 16, 64, -1, "crescendo"),), ("p", "f"), (32, "mp")),
        ((Mark("dynamic", 32, 32, -1, "mp"),), ("p", "p"), None),
        ((Mark("dynamic", 60, 60, -1, "ff"),), ("mf", "mf"), None),
        ((Mark("wedge", 0, 32, -1, "crescendo"),), ("p", "f"), None),
        ((), ("p", "ff"), None),
    ],
)
def test_where(marks: tuple[Mark, ...], dynamics: tuple[str, str], expected: tuple[int, str] | None) -> None:
    crest = find_crests(*cue(marks, dynamics), TABLE)[0]
    assert (crest and (crest.start, crest.dynamic)) == expected


def test_more_join_from_the_crest_on() -> None:
    sketch, reading = cue((Mark("dynamic", 96, 96, -1, "ff"),))
    phrase = plan(sketch, reading)[1]
    before, after = phrase.at(95), phrase.at(96)
    assert phrase.peak and before.weight < after.weight and before.doublers < after.doublers
    assert "brass" in after.ground and "brass" not in before.ground
    assert after.scheme == "full chord in each family"
    assert [(a, b) for a, b, _ in phrase.parts] == [(64, 96), (96, 128)]
    assert f"ff {after.weight:.2f} from bar 7, full chord in each family" in chart(sketch, [phrase])


@pytest.mark.parametrize(("bass", "expected"), [(4, [(96, 32)]), (16, [])])
def test_a_tutti_has_roots_that_last(bass: int, expected: list[tuple[int, int]]) -> None:
    sketch, reading = cue((Mark("dynamic", 96, 96, -1, "ff"),), bass=bass)
    own = Cue(sketch, reading, plan(sketch, reading), parse_lineup("romantic", TABLES), Brief(), TABLES)
    notes = [note for strand in roots(own) for line in strand.lines for note in line.notes]
    assert [(note.onset, note.duration) for note in notes] == expected
    assert all(note.pitch.midi % 12 == 0 and not note.sources for note in notes)
