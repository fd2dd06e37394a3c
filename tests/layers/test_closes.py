"""Trumpets and drums where a full phrase closes, and nowhere else."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from autoorch.brief import Brief
from autoorch.layers.closes import closing_basses, trumpets
from autoorch.layers.cue import Cue
from autoorch.layers.model import PhrasePlan
from autoorch.layers.timpani import timpani
from autoorch.lineup import parse_lineup
from autoorch.pitch import parse
from autoorch.roles.model import Chord, Line, Moment, Phrase, Reading, Strand
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.tables import load_tables

TABLES = load_tables()
TICKS, BAR = 4, 16


def cue(dynamic: str = "mf", weight: float = 0.7, bass: Sequence[str] = ("C3", "F3", "G2", "C3")) -> Cue:
    """Four bars in C major, one chord a bar (I, IV, V, I), that close on the last; each bass note struck on beats 1 and 3."""
    notes = tuple(SketchNote(f"n{k}", 8 * k, 8, parse(bass[k // 2]), 0, 1) for k in range(8))
    bars = tuple(Bar(k, str(k + 1), k * BAR, BAR, (4, 4), 0) for k in range(4))
    members = [(0, 4, 7), (5, 9, 0), (7, 11, 2), (0, 4, 7)]
    chords = tuple(
        Chord(b.onset, b.end, m[0], m[1], m[0], m, tendency=(11,) if 11 in m else (), key=(0, "major"))
        for b, m in zip(bars, members, strict=True)
    )
    strand = Strand("s1", "bass", (Line("s1.1", tuple(n.id for n in notes)),))
    moments = (Moment(3 * BAR, "cadence", 0.6, "authentic"),)
    reading = Reading((strand,), (Phrase(0, 4 * BAR, "A", dynamic),), chords, moments, tempo=100)
    sketch = Sketch(TICKS, (Staff(0, ""),), bars, notes)
    return Cue(
        sketch, reading, (PhrasePlan(0, 4 * BAR, weight, dynamic),), parse_lineup("classical", TABLES), Brief(), TABLES
    )


def test_a_full_phrase_is_closed_by_trumpets_and_drums_together() -> None:
    here = cue()
    (struck,) = closing_basses(here)
    assert [n.onset for n in struck] == [2 * BAR, 2 * BAR + 8, 3 * BAR, 3 * BAR + 8], (
        "the chord before the close and the close"
    )
    (strand,) = trumpets(here)
    upper, lower = strand.lines
    assert strand.complete and strand.families == ("trumpet_bb", "trumpet_c")
    assert [n.onset for n in upper.notes] == [n.onset for n in lower.notes] == [n.onset for n in struck]
    assert {n.pitch.midi % 12 for n in (*upper.notes, *lower.notes)} <= {0, 2, 4, 7}, (
        "what natural trumpets have, no leading note"
    )
    assert all(a.pitch.midi > b.pitch.midi for a, b in zip(upper.notes, lower.notes, strict=True))
    (drums,) = timpani(here, [])
    assert [n.onset for n in drums.lines[0].notes] == [n.onset for n in struck]


@pytest.mark.parametrize("change", [{"dynamic": "p"}, {"weight": 0.3}])
def test_not_in_soft_or_thin_phrases(change: dict[str, object]) -> None:
    here = cue(**change)  # type: ignore[arg-type]
    assert closing_basses(here) == [] and trumpets(here) == () and timpani(here, []) == ()


def test_without_two_trumpets_none_plays() -> None:
    here = cue()
    alone = Cue(here.sketch, here.reading, here.plan, parse_lineup("string orchestra", TABLES), Brief(), TABLES)
    assert trumpets(alone) == ()
