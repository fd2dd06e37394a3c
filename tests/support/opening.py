"""The first bars of a sketch, for tests that need real music and little of it."""

from __future__ import annotations

from dataclasses import replace

from autoorch.sketch.model import Sketch


def opening(sketch: Sketch, bars: int) -> Sketch:
    """So many bars, with the notes, slurs and marks that end inside them."""
    kept = sketch.bars[:bars]
    notes = tuple(note for note in sketch.notes if note.end <= kept[-1].end)
    ids = {note.id for note in notes}
    return replace(
        sketch,
        bars=kept,
        notes=notes,
        slurs=tuple(slur for slur in sketch.slurs if {slur.first, slur.last} <= ids),
        marks=tuple(mark for mark in sketch.marks if mark.end < kept[-1].end),
    )
