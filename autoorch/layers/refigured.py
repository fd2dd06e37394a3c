"""Piano figures written again for the hands that get them: broken octaves become octaves, a figure that the reading has in
pieces becomes one line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand

OCTAVE = 12


def refigured(cue: Cue, strands: Sequence[MaterialStrand]) -> tuple[MaterialStrand, ...]:
    """The strands, some with lines more that carry the sketch's notes, in the phrases that have such a figure.

    Broken octaves get two: the lower notes, and the upper ones, each held for both. A figure in several lines that hardly ever
    strike together gets one through all of them.
    """
    table = cue.tables.rule("patterns")["instead"]
    found = []
    for strand in strands:
        now = _with_octaves(cue, strand, table["octaves"]) if strand.role in ("bass", "figure") else strand
        found.append(_as_one(cue, now, table["together"]) if strand.role == "figure" else now)
    return tuple(found)


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
        MaterialLine(f"{strand.id}.low", tuple(lower), reduced=True, instead=True),
        MaterialLine(f"{strand.id}.high", tuple(upper), reduced=True, instead=True),
    )
    return replace(strand, lines=strand.lines + lines)


def _as_one(cue: Cue, strand: MaterialStrand, together: float) -> MaterialStrand:
    """A line through all lines of a figure, where so small a share of its attacks at most has several notes: of those the
    lowest; each note ends where the next begins."""
    own = [line for line in strand.lines if not line.reduced]
    notes: list[MaterialNote] = []
    for plan in cue.plan:
        attacks: dict[int, list[MaterialNote]] = {}
        for line in own:
            for note in line.notes:
                if plan.start <= note.onset < plan.end and note.duration:
                    attacks.setdefault(note.onset, []).append(note)
        pieces = sum(any(plan.start <= n.onset < plan.end for n in line.notes) for line in own)
        several = sum(len(found) > 1 for found in attacks.values())
        if pieces > 1 and several <= together * len(attacks):
            order = [min(attacks[tick], key=lambda n: n.pitch.midi) for tick in sorted(attacks)]
            notes += [_until(note, after.onset) for note, after in pairwise(order)] + order[-1:]
    if not notes:
        return strand
    whole = MaterialLine(f"{strand.id}.one", tuple(notes), reduced=True, instead=True)
    return replace(strand, lines=(*strand.lines, whole))


def _until(note: MaterialNote, tick: int) -> MaterialNote:
    return note if note.end <= tick else replace(note, id=f"{note.id}.one", duration=tick - note.onset)


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
