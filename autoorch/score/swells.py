"""Notes that grow by themselves: a roll into a peak begins soft and ends at the dynamic of the peak."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from autoorch.score.marks import Placed
from autoorch.score.streams import Played


def with_swells(notes: Sequence[Played], placed: Iterable[Placed], force: Callable[[Played], str]) -> list[Placed]:
    """The dynamics and hairpins of one player with those of his growing notes in place of others there.

    Args:
        notes: by onset.
        placed: what all notes are told.
        force: the dynamic in force at a note; written again where the note after a growing one would not get any.
    """
    marks = list(placed)
    for number, note in enumerate(notes):
        if not note.note.swell:
            continue
        soft, loud = note.note.swell
        marks = [m for m in marks if not (m.kind in ("dynamic", "wedge") and note.onset <= m.tick < note.end)]
        marks += [
            Placed(note.onset, "dynamic", soft),
            Placed(note.onset, "wedge", "crescendo"),
            Placed(note.end, "wedge", "stop"),
        ]
        after = next((n for n in notes[number + 1 :] if n.onset >= note.end), None)
        told = {m.tick for m in marks if m.kind == "dynamic"}
        if after is None or after.onset > note.end:
            marks.append(Placed(note.end, "dynamic", loud))
        if after is not None and after.onset not in told and not after.note.swell:
            marks.append(Placed(after.onset, "dynamic", force(after)))
    return marks
