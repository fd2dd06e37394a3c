"""What doubles the melody for a part of it: its outline, which winds who double a quick tune of the strings can have instead of
its runs (its beats and its crest, held where the tune moves on), and the notes that two colours share where one hands it on."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from typing import Any

from autoorch.layers.cue import Cue
from autoorch.layers.model import SHARED, MaterialLine, MaterialNote, MaterialStrand
from autoorch.sketch.model import SketchNote


def outlines(cue: Cue) -> tuple[MaterialStrand, ...]:
    """One strand a phrase in which winds join strings on a tune that is quicker than comes easily to them."""
    table = cue.tables.rule("patterns")["outline"]
    steps = cue.tables.rule("playability")["speed"]["intervals"]
    found: list[MaterialStrand] = []
    for plan in cue.plan:
        notes = [note for note in cue.tune if plan.start <= note.onset < plan.end]
        slow = doublers(cue, plan.lead, plan.joined, speed(cue.seconds, notes, steps), table)
        kept = outline(cue, notes, table) if plan.dynamic in table["dynamics"] and slow else []
        if not table["least"] <= len(kept) <= table["most"] * len(notes):
            continue
        name = f"outline{len(found) + 1}"
        line = MaterialLine(f"{name}.1", tuple(_held(kept, notes, f"{name}.1")), reduced=True)
        reason = f"the tune without its runs from {cue.place(plan.start)}, for those who double it and do not run"
        found.append(MaterialStrand(name, "melody", "melody", (line,), "outline", slow, reason=reason))
    return tuple(found)


def doublers(cue: Cue, lead: str, joined: Sequence[str], speed: float, table: Mapping[str, Any]) -> tuple[str, ...]:
    """Instruments of the joined colours, in the table's order, to which so many notes a second do not come easily."""
    colours = {row["id"]: row["instruments"] for row in cue.tables.rule("plan")["colour"]}
    if lead not in table["leads"]:
        return ()
    own = {name for colour in joined for name in colours[colour]}
    return tuple(
        name
        for name in table["players"]
        if name in own and speed > table["ease"] * cue.tables.instruments[name].fluency.moving_per_s[0]
    )


def speed(seconds: Callable[[int, int], float], notes: Sequence[SketchNote], steps: int) -> float:
    """Notes a second where the tune is fastest; 0 for a few notes.

    Args:
        seconds: between two ticks.
        steps: intervals on end over which it is taken, as a player's is.
    """
    spans = [seconds(a.onset, b.onset) for a, b in zip(notes, notes[steps:], strict=False)]
    return max((steps / span for span in spans if span > 0), default=0.0)


def outline(cue: Cue, notes: Sequence[SketchNote], table: Mapping[str, Any]) -> list[SketchNote]:
    """The tune's notes on beats (on the strong ones, where beats are quick), its long notes, its crest and its last."""
    crest = max(notes, key=lambda note: note.pitch.midi, default=None)
    kept = []
    for note in notes:
        beat = cue.beats(note.onset, 1)
        quick = cue.seconds(note.onset, note.onset + beat) < table["beat_s"]
        strong = cue.on_beat(note.onset) and (not quick or note.onset == cue.sketch.bar_at(note.onset).onset)
        if strong or note.duration >= beat or note is crest or note is notes[-1]:
            kept.append(note)
    return kept


def _held(kept: Sequence[SketchNote], notes: Sequence[SketchNote], name: str) -> list[MaterialNote]:
    """The notes as material, each held as long as the tune goes on without a rest, at most to the next of them."""
    found = []
    for number, (note, after) in enumerate(pairwise((*kept, None)), 1):
        assert note is not None
        end = note.end
        for other in notes:
            if note.onset < other.onset <= end and (after is None or other.onset < after.onset):
                end = max(end, other.end)
        end = min(end, after.onset) if after is not None else end
        found.append(MaterialNote(f"{name}.{number}", note.onset, end - note.onset, note.pitch, (note.id,)))
    return found


def shared(cue: Cue) -> tuple[MaterialStrand, ...]:
    """One strand of one note for each place where the tune goes on from one colour to another without a rest and the note before
    leads there: a short one, near in pitch, and as loud."""
    table = cue.tables.rule("patterns")["shared"]
    colours = {row["id"]: row["instruments"] for row in cue.tables.rule("plan")["colour"]}
    found: list[MaterialStrand] = []
    for last, first in pairwise(cue.tune):
        before, then = cue.plan_at(last.onset).at(last.onset), cue.plan_at(first.onset).at(first.onset)
        leads = (
            last.end == first.onset
            and last.duration <= cue.beats(last.onset, table["beats"])
            and abs(first.pitch.midi - last.pitch.midi) <= table["leap"]
        )
        if not leads or before.dynamic != then.dynamic or not (before.lead and then.lead):
            continue
        stay = {name for colour in (then.lead, *then.joined) for name in colours[colour]}
        leave = {name for colour in (before.lead, *before.joined) for name in colours[colour]} - stay
        if leave:
            name = f"shared{len(found) + 1}"
            note = MaterialNote(f"{name}.1.1", first.onset, first.duration, first.pitch, (first.id,))
            reason = f"the tune's note at {cue.place(first.onset)}, on which who hands it on may finish"
            line = MaterialLine(f"{name}.1", (note,), reduced=True)
            found.append(MaterialStrand(name, "melody", "melody", (line,), SHARED, tuple(sorted(leave)), reason=reason))
    return tuple(found)
