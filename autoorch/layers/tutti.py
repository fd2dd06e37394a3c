"""What a full orchestra needs that a piano sketch has not: roots that last, under broken or repeated chords over short basses."""

from __future__ import annotations

from autoorch.layers.cue import Cue
from autoorch.layers.harmony import merged
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand


def roots(cue: Cue) -> tuple[MaterialStrand, ...]:
    """The bass of each chord, held as long as the chord, wherever the plan has a tutti whose bass is short; else ()."""
    table = cue.tables.rule("plan")["tutti"]
    notes: list[MaterialNote] = []
    for start, end, plan in (part for phrase in cue.plan for part in phrase.parts):
        if plan.scheme not in table["schemes"] or plan.dynamic not in table["dynamics"]:
            continue
        own = [note for note in cue.bass if start <= note.onset < end]
        if not own or sum(note.duration for note in own) > table["short"] * (end - start):
            continue
        for chord in merged([c for c in cue.reading.chords if c.start < end and c.end > start and c.members]):
            first, last = max(start, chord.start), min(end, chord.end)
            if _sounding(cue, first, last) < table["sounding"] * (last - first):
                continue
            midi = next(m for m in range(table["low"], table["low"] + 12) if m % 12 == chord.bass)
            notes.append(MaterialNote(f"root1.1.{len(notes) + 1}", first, last - first, cue.spelled(midi, first)))
    if not notes:
        return ()
    line = MaterialLine("root1.1", tuple(notes))
    reason = "roots held under a tutti whose bass is short in the sketch"
    return (
        MaterialStrand("root1", "bass", "bass", (line,), "held roots", families=tuple(table["players"]), reason=reason),
    )


def _sounding(cue: Cue, start: int, end: int) -> int:
    """Ticks of [start, end) in which anything of the sketch sounds."""
    total, free = 0, start
    for note in sorted((n for n in cue.sketch.notes if n.onset < end and n.end > start), key=lambda n: n.onset):
        last = min(note.end, end)
        total += max(0, last - max(free, note.onset))
        free = max(free, last)
    return total
