"""A tune whose notes are picked out of a broken chord: under a pianist's pedal they sing on, so whoever has them holds them, and
the figure keeps its own stroke there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand
from autoorch.roles.patterns import BROKEN


def sung_on(cue: Cue, strands: Sequence[MaterialStrand]) -> tuple[MaterialStrand, ...]:
    """The strands with such notes held to the next of the tune or the end of their chord, phrase by phrase."""
    table = cue.tables.rule("patterns")["picked"]
    figures = [
        line.id for s in strands if s.role == "figure" and s.texture in BROKEN for line in s.lines if not line.reduced
    ]
    lines = {line.id: line for strand in strands for line in strand.lines}
    for strand in strands:
        if strand.role == "melody" and strand.layer == "assigned":
            for plan in cue.plan:
                tune = [note for note in lines[strand.lines[0].id].notes if plan.start <= note.onset < plan.end]
                for note, figure, end in _picked(cue, tune, [lines[name] for name in figures], plan.end, table):
                    held = replace(note, id=f"{note.id}.on", duration=end - note.onset)
                    lines[strand.lines[0].id] = _with(lines[strand.lines[0].id], held, note)
                    lines[figure.id] = _with(lines[figure.id], replace(note, id=f"{note.id}.{figure.id}"))
    return tuple(replace(strand, lines=tuple(lines[line.id] for line in strand.lines)) for strand in strands)


def _picked(
    cue: Cue, tune: Sequence[MaterialNote], figures: Sequence[MaterialLine], end: int, table: Mapping[str, Any]
) -> list[tuple[MaterialNote, MaterialLine, int]]:
    """(note, the line that it is picked out of, how long it sings), where most of a phrase's tune is so; else nothing."""
    found = []
    for note, after in pairwise((*tune, None)):
        assert note is not None
        until = end if after is None else after.onset
        chord = cue.chord_at(note.onset)
        until = min(until, chord.end) if chord else until
        own = next((figure for figure in figures if _holds(figure, note)), None)
        if own is not None and note.duration and until - note.end >= table["rest"] * note.duration:
            found.append((note, own, until))
    return found if len(found) >= max(table["fewest"], table["share"] * len(tune)) else []


def _holds(figure: MaterialLine, note: MaterialNote) -> bool:
    """The line has notes as long right before and right after, and none in between."""
    before = any(one.end == note.onset and one.duration == note.duration for one in figure.notes)
    after = any(one.onset == note.end and one.duration == note.duration for one in figure.notes)
    return before and after and not any(one.onset < note.end and one.end > note.onset for one in figure.notes)


def _with(line: MaterialLine, note: MaterialNote, instead: MaterialNote | None = None) -> MaterialLine:
    """The line with one note more, or with it in another's place."""
    notes = [one for one in line.notes if one != instead]
    return replace(line, notes=tuple(sorted((*notes, note), key=lambda one: (one.onset, one.end))))
