"""The reduced line keeps thirds first, then tendency notes."""

from __future__ import annotations

from autoorch.layers.assigned import essence
from autoorch.roles.model import Chord
from tests.support.tiny import BAR, line


def test_the_reduced_line_keeps_the_third() -> None:
    chord = Chord(0, BAR, 0, 4, 0, (0, 4, 7))
    lines = (line("a", "G4 G4 E4 G4"), line("b", "E4 C4 C4 E4"), line("c", "C4 C4 C4 C4"))
    assert [str(note.pitch) for note in essence(lines, (chord,))] == ["E4", "G4", "E4", "E4"]


def test_it_is_one_note_at_a_time() -> None:
    lines = (line("a", "G4 G4", 2.0), line("b", "E4 D4 C4 B3"))
    notes = essence(lines, ())
    assert [(str(note.pitch), note.onset, note.end) for note in notes] == [("G4", 0, BAR // 2), ("G4", BAR // 2, BAR)]
