"""The order of a sketch's notes and the ids that follow from it, the same for every format."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from autoorch.pitch import Pitch
from autoorch.sketch.model import SketchNote


class Loose(NamedTuple):
    """A note that has no id yet; fields as in SketchNote."""

    onset: int
    duration: int
    pitch: Pitch
    staff: int
    voice: int
    velocity: int | None = None
    grace: str = ""
    marks: tuple[str, ...] = ()
    lyric: str = ""


def numbered(loose: Sequence[Loose]) -> tuple[tuple[SketchNote, ...], list[str]]:
    """The notes in the sketch's order, and the id of each loose note in the order given.

    Grace notes stand before the other notes of their voice at the same onset, in the order given.
    """

    def place(index: int) -> tuple[int, ...]:
        note = loose[index]
        height = (0, 0) if note.grace else (note.pitch.midi, note.pitch.diatonic)
        return (note.onset, note.staff, note.voice, not note.grace, *height, index)

    notes: list[SketchNote] = []
    ids = [""] * len(loose)
    for number, index in enumerate(sorted(range(len(loose)), key=place), start=1):
        ids[index] = f"n{number}"
        notes.append(SketchNote(ids[index], *loose[index]))
    return tuple(notes), ids
