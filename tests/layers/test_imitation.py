"""Entries of the reading as places in strands."""

from __future__ import annotations

from autoorch.layers.imitation import entrances
from autoorch.layers.model import Entrance
from autoorch.pitch import parse
from autoorch.roles.model import Entry, Line, Reading, Strand
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff

BAR = 16


def test_an_entry_stands_in_the_line_that_has_most_of_it() -> None:
    notes = tuple(SketchNote(f"n{k}", 4 * k, 4, parse("C4"), 0, 1) for k in range(8))
    bars = tuple(Bar(k, str(k + 1), k * BAR, BAR, (4, 4), 0) for k in range(2))
    sketch = Sketch(4, (Staff(0, ""),), bars, notes)
    tune = Strand("s1", "melody", (Line("s1.1", ("n0", "n1", "n2", "n3", "n4")),))
    bass = Strand("s2", "bass", (Line("s2.1", ("n5", "n6", "n7")),))
    entries = (Entry(1, 0, ("n0", "n1", "n2", "n3")), Entry(1, 7, ("n4", "n5", "n6", "n7")))
    found = entrances(sketch, Reading((tune, bass), (), (), entries=entries))
    assert found == (Entrance(1, "s1", "s1.1", 0, BAR), Entrance(1, "s2", "s2.1", BAR + 4, 2 * BAR))
