"""queries.txt: what was changed, thinned or moved, likely misprints and options, in plain lines for composer and copyist."""

from __future__ import annotations

from collections.abc import Iterable

from autoorch.problem.draft import Draft
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch


def queries(sketch: Sketch, reading: Reading, draft: Draft, notices: Iterable[str] = ()) -> bytes:
    """The whole text; each section is left out where it has nothing to say."""
    sections = (
        ("Please check in the sketch", reading.queries),
        ("Not kept from the file", sketch.lost),
        ("Taken for granted", (*sketch.notices, *reading.notices, *draft.notices, *notices)),
        ("Reduced to fit the line-up", draft.losses),
        ("Left out", _fates(sketch, draft, ("thinned", "dropped"))),
        ("Moved by octaves", _fates(sketch, draft, ("octave moved",))),
    )
    text = [sketch.title or "Untitled", ""]
    for title, lines in sections:
        if lines:
            text += [title, *(f"  {line}" for line in lines), ""]
    if len(text) == 2:
        text.append("Nothing to ask: every note of the sketch is in the score at its own pitch.")
    return ("\n".join(text).rstrip() + "\n").encode()


def _fates(sketch: Sketch, draft: Draft, kinds: tuple[str, ...]) -> tuple[str, ...]:
    """One line a note with that fate: bar, beat, pitch, who has it or why not."""
    lines = []
    for note, fate in zip(sketch.notes, draft.fates, strict=True):
        if fate.fate in kinds:
            bar = sketch.bar_at(note.onset)
            beat = 1 + (note.onset - bar.onset) * bar.metre[1] / (4 * sketch.ticks)
            told = ", ".join(fate.players) if fate.players else f"{fate.fate}: {fate.reason}"
            lines.append(f"bar {bar.number}, beat {beat:g}: {note.pitch} ({told})")
    return tuple(lines)
