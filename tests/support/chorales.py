"""Four-part chorales on two staves, as a pianist reads them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import music21

from autoorch.sketch import Sketch, read_sketch
from autoorch.sketch.model import Slur, Staff
from autoorch.sketch.number import Loose, numbered

CORPUS = Path(music21.__file__).parent / "corpus"
NUMBERS = (
    *("17.7", "28.6", "33.6", "38.6", "40.8", "65.2", "86.6", "145.5", "153.1", "153.5"),
    *("184.5", "248.12-2", "267", "269", "277", "281", "302", "311", "318", "351"),
)
"""Twenty chorales of music21's corpus, by their number in the Bach catalogue."""


def chorale(number: str) -> Sketch:
    """One chorale of the corpus on two staves."""
    return two_staves(read_sketch(CORPUS / "bach" / f"bwv{number}.mxl"))


def two_staves(sketch: Sketch) -> Sketch:
    """Soprano and alto on staff 0, tenor and bass on staff 1, as voices 1 and 2 of each.

    Raises:
        ValueError: where the sketch has not four staves.
    """
    if len(sketch.staves) != 4:
        raise ValueError(f"{len(sketch.staves)} staves are no chorale")
    loose = [
        Loose(n.onset, n.duration, n.pitch, n.staff // 2, 1 + n.staff % 2, n.velocity, n.grace, n.marks, n.lyric)
        for n in sketch.notes
    ]
    notes, ids = numbered(loose)
    renamed = {note.id: new for note, new in zip(sketch.notes, ids, strict=True)}
    return replace(
        sketch,
        staves=(Staff(0, "Piano"), Staff(1, "Piano")),
        notes=notes,
        slurs=tuple(Slur(renamed[slur.first], renamed[slur.last]) for slur in sketch.slurs),
        marks=tuple(replace(mark, staff=mark.staff // 2) if mark.staff >= 0 else mark for mark in sketch.marks),
    )
