"""Strokes that mark the shape: timpani on the bass notes that their drums have, where the music is loud."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from autoorch.instruments import Instrument
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand, PhrasePlan
from autoorch.lineup import Lineup
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch, SketchNote
from autoorch.tables import Tables


def timpani_strokes(
    sketch: Sketch, reading: Reading, plan: Sequence[PhrasePlan], lineup: Lineup, tables: Tables
) -> tuple[MaterialStrand, ...]:
    """One strand of strokes for the timpani, or none: bass notes on strong beats of loud phrases, on one tuning for the cue."""
    player = next((p for p in lineup.players if p.instrument.kind == "timpani"), None)
    table = tables.rule("finish")["timpani"]
    if player is None:
        return ()
    phrases = [p for p in plan if p.dynamic in table["dynamics"]]
    attacks = [
        n
        for n in _bass(sketch, reading)
        if _strong(sketch, n.onset) and any(p.start <= n.onset < p.end for p in phrases)
    ]
    tuning = tune(Counter(n.pitch.midi % 12 for n in attacks), player.instrument)
    notes: list[MaterialNote] = []
    for phrase in phrases:
        hits = [n for n in attacks if phrase.start <= n.onset < phrase.end and n.pitch.midi % 12 in tuning]
        if len(hits) >= table["least_strokes"]:
            notes += _strokes(sketch, hits, tuning, table, len(notes))
    if not notes:
        return ()
    line = MaterialLine("timp1.1", tuple(notes))
    reason = "strokes on the bass notes of loud phrases"
    return (MaterialStrand("timp1", "rhythm", "finish", (line,), "strokes", families=("timpani",), reason=reason),)


def _bass(sketch: Sketch, reading: Reading) -> Iterable[SketchNote]:
    """Notes of the bass, in time order."""
    ids = [note for strand in reading.strands if strand.role == "bass" for note in strand.lines[0].notes]
    return sorted((sketch.by_id[i] for i in ids if sketch.by_id[i].duration), key=lambda n: n.onset)


def _strong(sketch: Sketch, tick: int) -> bool:
    """A bar's first beat, or the middle of a bar that halves."""
    bar = sketch.bar_at(tick)
    place = tick - bar.onset
    return place == 0 or (bar.metre[0] in (4, 6, 12) and 2 * place == bar.length)


def tune(wanted: Mapping[int, int], instrument: Instrument) -> dict[int, int]:
    """Pitch class -> sounding MIDI note of the drum that takes it: the commonest classes first, one drum each."""
    free = list(instrument.drums)
    tuning: dict[int, int] = {}
    for degree in sorted(wanted, key=lambda d: (-wanted[d], d)):
        for low, high in free:
            pitch = next((m for m in range(low, high + 1) if m % 12 == degree and _safe(instrument, m)), None)
            if pitch is not None:
                tuning[degree] = pitch
                free.remove((low, high))
                break
    return tuning


def _safe(instrument: Instrument, pitch: int) -> bool:
    return instrument.normal[0] <= pitch <= instrument.normal[1]


def _strokes(
    sketch: Sketch, hits: Sequence[SketchNote], tuning: Mapping[int, int], table: Mapping[str, Any], count: int
) -> list[MaterialNote]:
    longest = round(table["stroke"] * sketch.ticks)
    found = []
    for number, note in enumerate(hits, count + 1):
        octaves = (tuning[note.pitch.midi % 12] - note.pitch.midi) // 12
        room = (hits[number - count].onset if number - count < len(hits) else note.end + longest) - note.onset
        length = max(1, min(longest, note.duration, room))
        found.append(MaterialNote(f"timp1.1.{number}", note.onset, length, note.pitch.shifted(octaves), (note.id,)))
    return found
