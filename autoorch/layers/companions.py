"""Lines that go with the tune in a pianist's right hand, made whole for others: octaves under some of its notes go on under all
of them, a lower voice that lets go while the tune passes on is held until it joins it again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand
from autoorch.layers.techniques import DETACHED

OCTAVE = 12
VOICES = ("melody", "inner", "counterline")


def companions(cue: Cue, strands: Sequence[MaterialStrand]) -> tuple[MaterialStrand, ...]:
    """The strands with such lines made whole, phrase by phrase; not for few players, who have the hands for what stands there."""
    table = cue.tables.rule("patterns")["companion"]
    if len(cue.lineup.players) <= cue.tables.rule("texture")["small"]:
        return tuple(strands)
    tune = sorted((n for s in strands if s.role == "melody" for n in s.lines[0].notes), key=lambda n: n.onset)
    found = []
    for strand in strands:
        if strand.role in VOICES and strand.layer == "assigned":
            lines = [strand.lines[0] if strand.role == "melody" else _through(cue, strand.lines[0], tune, table)]
            for line in strand.lines[1:]:
                whole = _doubled(cue, strand.lines[0], line, table) if strand.role == "melody" else line
                lines.append(_through(cue, whole, tune, table))
            strand = replace(strand, lines=tuple(lines))
        found.append(strand)
    return tuple(found)


def _doubled(cue: Cue, upper: MaterialLine, line: MaterialLine, table: Mapping[str, Any]) -> MaterialLine:
    """A line that has octaves of enough of the tune's notes in a phrase, and nothing else, with those of the others."""
    notes: list[MaterialNote] = []
    for plan in cue.plan:
        tune = [n for n in upper.notes if plan.start <= n.onset < plan.end and n.duration]
        own = {n.onset: n for n in line.notes if plan.start <= n.onset < plan.end}
        apart = [own[n.onset].pitch.midi - n.pitch.midi for n in tune if n.onset in own]
        octaves = len(apart) == len(own) and all(step and step % OCTAVE == 0 for step in apart)
        if not octaves or not table["share"] * len(tune) <= len(own) < len(tune):
            notes += own.values()
            continue
        step = apart[0]
        for note in tune:
            if note.onset in own:
                step = own[note.onset].pitch.midi - note.pitch.midi
                notes.append(own[note.onset])
            else:
                notes.append(replace(note, id=f"{note.id}.{line.id}", pitch=note.pitch.shifted(step // OCTAVE)))
    return replace(line, notes=tuple(_until(a, b) for a, b in pairwise((*notes, None)) if a is not None))


def _through(cue: Cue, line: MaterialLine, tune: Sequence[MaterialNote], table: Mapping[str, Any]) -> MaterialLine:
    """Notes that begin with one of the tune's are held over a short gap in which the tune goes on."""
    attacks = {note.onset for note in tune}
    notes = list(line.notes)
    for k, (note, after) in enumerate(pairwise(line.notes)):
        gap = after.onset - note.end
        passing = any(note.end <= tick < after.onset for tick in attacks)
        short = 0 < gap <= cue.beats(note.onset, table["gap_beats"]) and table["longer"] * gap <= note.duration
        joined = note.onset in attacks and after.onset in attacks and passing
        if short and joined and not set(note.marks) & set(DETACHED):
            notes[k] = replace(note, id=f"{note.id}.on", duration=after.onset - note.onset)
    return replace(line, notes=tuple(notes))


def _until(note: MaterialNote, after: MaterialNote | None) -> MaterialNote:
    if after is None or note.end <= after.onset:
        return note
    return replace(note, id=f"{note.id}.cut", duration=after.onset - note.onset)
