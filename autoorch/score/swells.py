"""Notes that grow by themselves: a roll into a peak begins soft and ends at the dynamic of the peak."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from autoorch.score.marks import Placed
from autoorch.score.streams import Played


def with_swells(
    notes: Sequence[Played], placed: Sequence[Placed], force: Callable[[Played], str], quarter: int
) -> list[Placed]:
    """The dynamics and hairpins of one player with those of his growing notes in place of others there.

    A growing note that no other follows at once has its goal under its own last quarter, not over a rest.

    Args:
        notes: by onset.
        placed: what all notes are told.
        force: the dynamic in force at a note; written again where the note after a growing one would not get any.
        quarter: ticks.
    """
    if not any(note.note.swell for note in notes):
        return list(placed)
    marks = [m for m in placed if m.kind != "wedge"]
    hairpins = _hairpins(m for m in placed if m.kind == "wedge")
    for number, note in enumerate(notes):
        if not note.note.swell:
            continue
        soft, loud = note.note.swell
        marks = [m for m in marks if not (m.kind == "dynamic" and note.onset <= m.tick < note.end)]
        marks.append(Placed(note.onset, "dynamic", soft))
        hairpins = [h for h in hairpins if h[1] <= note.onset or h[0] >= note.end]
        after = next((n for n in notes[number + 1 :] if n.onset >= note.end), None)
        told = {m.tick for m in marks if m.kind == "dynamic"}
        lands = after is not None and after.onset == note.end
        top = note.end if lands else max(note.end - quarter, (note.onset + note.end) // 2)
        hairpins.append((note.onset, top, "crescendo"))
        if not lands:
            marks.append(Placed(top, "dynamic", loud))
        if after is not None and after.onset not in told and not after.note.swell:
            marks.append(Placed(after.onset, "dynamic", force(after)))
    for start, stop, value in sorted(hairpins):
        marks += [Placed(start, "wedge", value), Placed(stop, "wedge", "stop")]
    return marks


def _hairpins(marks: Iterable[Placed]) -> list[tuple[int, int, str]]:
    """(start, stop, value) of hairpins given as starts and stops in turn."""
    found = []
    start: Placed | None = None
    for mark in marks:
        if mark.value == "stop" and start is not None:
            found.append((start.tick, mark.tick, start.value))
        start = None if mark.value == "stop" else mark
    return found
