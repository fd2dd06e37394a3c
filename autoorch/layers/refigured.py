"""Piano figures written again for the hands that get them: broken octaves become octaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand

OCTAVE = 12


def refigured(cue: Cue, strands: Sequence[MaterialStrand]) -> tuple[MaterialStrand, ...]:
    """The strands, those with broken octaves with two lines more: the lower notes, and the upper ones, each held for both.

    The new lines carry the sketch's notes and stand only in phrases that have such a figure.
    """
    least = cue.tables.rule("patterns")["broken_octaves"]["least"]
    return tuple(
        _with_octaves(cue, strand, least) if strand.role in ("bass", "figure") else strand for strand in strands
    )


def _with_octaves(cue: Cue, strand: MaterialStrand, least: int) -> MaterialStrand:
    lower: list[MaterialNote] = []
    upper: list[MaterialNote] = []
    for plan in cue.plan:
        notes = [n for n in strand.lines[0].notes if plan.start <= n.onset < plan.end]
        pairs = broken_octaves(notes, least)
        if not pairs:
            continue
        second = {b.id for _, b in pairs}
        first = {a.id: b for a, b in pairs}
        for note in notes:
            if note.id in first:
                low, high = sorted((note, first[note.id]), key=lambda n: n.pitch.midi)
                both = replace(
                    note, duration=first[note.id].end - note.onset, sources=note.sources + first[note.id].sources
                )
                lower.append(replace(both, id=f"{note.id}.low", pitch=low.pitch))
                upper.append(replace(both, id=f"{note.id}.high", pitch=high.pitch))
            elif note.id not in second:
                lower.append(note)
    if not upper:
        return strand
    lines = (
        MaterialLine(f"{strand.id}.low", tuple(lower), reduced=True),
        MaterialLine(f"{strand.id}.high", tuple(upper), reduced=True),
    )
    return replace(strand, lines=strand.lines + lines)


def broken_octaves(notes: Sequence[MaterialNote], least: int) -> list[tuple[MaterialNote, MaterialNote]]:
    """Pairs of equal notes an octave apart, one after the other, in runs of at least `least` pairs that all go the same way."""
    found: list[tuple[MaterialNote, MaterialNote]] = []
    run: list[tuple[MaterialNote, MaterialNote]] = []
    position = 0
    while position + 1 < len(notes):
        a, b = notes[position], notes[position + 1]
        step = b.pitch.midi - a.pitch.midi
        joined = abs(step) == OCTAVE and a.duration == b.duration > 0 and a.end == b.onset
        if joined and run and (run[-1][1].end != a.onset or step != run[-1][1].pitch.midi - run[-1][0].pitch.midi):
            found += run if len(run) >= least else []
            run = []
        if joined:
            run.append((a, b))
            position += 2
        else:
            found += run if len(run) >= least else []
            run = []
            position += 1
    return found + (run if len(run) >= least else [])
