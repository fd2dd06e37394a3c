"""Echoes: where the tune holds the last note of a phrase or rests after it, somebody else answers with its close, an octave
away."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from autoorch.layers.cue import Cue, at_most
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand
from autoorch.sketch.model import SketchNote


def echoes(cue: Cue, taken: Collection[int]) -> tuple[MaterialStrand, ...]:
    """One strand an echo, in the phrases with the longest held ends.

    Args:
        taken: phrases that have a second line already.
    """
    table = cue.tables.rule("counterline")["echo"]
    most = at_most(cue.sketch, table["in_32_bars"])
    held = [(k, closes(cue, k, table)) for k in range(len(cue.plan)) if k not in taken]
    ranked = sorted((-motif[-1].duration, k) for k, motif in held if motif)[:most]
    chosen = sorted(k for _, k in ranked)
    strands = (_strand(cue, dict(held)[k], f"echo{n}", table) for n, k in enumerate(chosen, 1))
    return tuple(strand for strand in strands if strand is not None)


def closes(cue: Cue, phrase: int, table: Mapping[str, Any]) -> list[SketchNote]:
    """The motif that a phrase ends with, its held last note included; [] where there is no room or no harmony for an echo."""
    plan = cue.plan[phrase]
    tune = [n for n in cue.tune if plan.start <= n.onset < plan.end]
    if not tune or cue.dynamic_at(tune[-1].onset) not in table["dynamics"]:
        return []
    last, beat = tune[-1], cue.beats(tune[-1].onset, 1)
    still = _until(cue, last) - last.onset
    if still < table["hold_beats"] * beat:
        return []
    room = min(still - round((table["wait_beats"] + table["last_beats"]) * beat), round(table["most_beats"] * beat))
    motif = [n for n in tune if last.onset - room <= n.onset]
    while motif and not cue.on_beat(motif[0].onset):
        motif.pop(0)
    shift = last.onset + round(table["wait_beats"] * beat) - motif[0].onset if motif else 0
    fits = all(_fits(cue, n.onset + shift, n) for n in motif if n is last or cue.on_beat(n.onset + shift))
    return motif if len(motif) >= table["least"] and fits else []


def _until(cue: Cue, last: SketchNote) -> int:
    """Tick at which the tune goes on after its note, or the note ends where nothing follows."""
    return min((n.onset for n in cue.tune if n.onset > last.onset), default=last.end)


def _fits(cue: Cue, tick: int, note: SketchNote) -> bool:
    chord = cue.chord_at(tick)
    return chord is not None and note.pitch.midi % 12 in chord.members


def _strand(cue: Cue, motif: list[SketchNote], name: str, table: Mapping[str, Any]) -> MaterialStrand | None:
    last, end = motif[-1], _until(cue, motif[-1])
    shift = last.onset + cue.beats(last.onset, table["wait_beats"]) - motif[0].onset
    pitches = [n.pitch.midi for n in motif]
    octave = 1 if max(pitches) + 12 <= table["top"] else -1
    if min(pitches) + 12 * octave < table["bottom"]:
        return None
    notes = tuple(
        MaterialNote(
            f"{name}.1.{k}",
            n.onset + shift,
            min(n.end + shift, end) - n.onset - shift,
            n.pitch.shifted(octave),
            marks=n.marks,
        )
        for k, n in enumerate(motif, 1)
    )
    return MaterialStrand(
        name,
        "counterline",
        "counterline",
        (MaterialLine(f"{name}.1", notes),),
        texture="echo",
        families=tuple(table["high" if octave > 0 else "low"]),
        complete=True,
        reason=f"an echo of the tune's close in {cue.place(notes[0].onset)}",
    )
