"""The bass: how it is struck, its lower octave where the harmony lands, a reduced line under which a running bass only marks its
chords, and one of our own under the chord symbols of a sketch that has none."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import median
from typing import Any

from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand
from autoorch.layers.techniques import DETACHED
from autoorch.roles.harmony import harmony_table
from autoorch.roles.model import Chord
from autoorch.roles.symbols import basses
from autoorch.sketch.model import SketchNote

LOW = ("bass", "pedal")


def attack(
    notes: Sequence[SketchNote],
    end: int,
    beside: Collection[str],
    seconds: Callable[[int, int], float],
    table: Mapping[str, Any],
) -> str:
    """What the bass of a phrase is: "detached", "held", "pedal", or "" where it moves.

    Args:
        notes: its notes in time order; end: of the phrase, ticks.
        beside: textures of what else there is in the phrase.
        seconds: (tick, tick) -> seconds.
        table: [attack] of constraints/plan.toml.
    """
    strokes = sorted({note.onset for note in notes})
    if len(strokes) < table["least"]:
        return ""
    apart = median(seconds(onset, then) for onset, then in pairwise((*strokes, end)))
    lasting = {onset: max(note.end for note in notes if note.onset == onset) for onset in strokes}
    sounding = sum(min(then, lasting[onset]) - onset for onset, then in pairwise((*strokes, end)))
    share = sounding / max(1, end - strokes[0])
    middle = median(seconds(note.onset, note.end) for note in notes)
    on_one: dict[int, int] = {}
    for note in notes:
        on_one[note.pitch.midi % 12] = on_one.get(note.pitch.midi % 12, 0) + note.duration
    if share >= table["pedal"] and max(on_one.values()) >= table["pedal"] * sum(on_one.values()):
        return "pedal"
    dotted = sum(any(mark in DETACHED for mark in note.marks) for note in notes)
    short = share <= table["detached_share"] and middle <= table["detached_s"] and not set(beside) & set(table["rings"])
    if (short or dotted >= table["dotted"] * len(notes)) and apart * table["most_per_s"] >= 1:
        return "detached"
    return "held" if share >= table["held_share"] and middle >= table["held_s"] else ""


def landings(cue: Cue) -> tuple[MaterialStrand, ...]:
    """One strand of single notes an octave under the bass, where a loud phrase lands on its tonic; none where nothing does."""
    table = cue.tables.rule("doubling")["landing"]
    kinds, dynamics = table["moments"], table["dynamics"]
    notes: list[MaterialNote] = []
    for tick in sorted({moment.onset for moment in cue.moments if moment.kind in kinds}):
        chord, note = _chord_at(cue.reading.chords, tick), _bass_at(cue, tick)
        if chord is None or note is None or cue.plan_at(tick).dynamic not in dynamics:
            continue
        if (
            chord.root is None
            or not chord.root == chord.key[0] == note.pitch.midi % 12
            or note.pitch.midi - 12 < table["lowest"]
        ):
            continue
        pitch = note.pitch.shifted(-1)
        notes.append(MaterialNote(f"land1.1.{len(notes) + 1}", note.onset, note.duration, pitch, (note.id,)))
    if not notes:
        return ()
    line = MaterialLine("land1.1", tuple(notes))
    reason = "the bass gets its lower octave where the harmony lands on its tonic"
    return (MaterialStrand("land1", "bass", "bass", (line,), "octave", families=table["players"], reason=reason),)


def under_symbols(cue: Cue) -> tuple[MaterialStrand, ...]:
    """The bass of each chord symbol where the sketch has none itself, struck with the symbol and on each bar line under it."""
    low = cue.tables.rule("voicing")["symbols"]["low"]
    lines = [line for strand in cue.reading.strands if strand.role in LOW for line in strand.lines]
    own = [cue.sketch.by_id[note] for line in lines for note in line.notes]
    notes: list[MaterialNote] = []
    for start, end, degree in basses(cue.sketch, harmony_table(cue.tables)["symbol"]):
        if any(note.onset < end and note.end > start for note in own):
            continue
        strokes = [start, *(bar.onset for bar in cue.sketch.bars if start < bar.onset < end), end]
        for first, last in pairwise(strokes):
            pitch = cue.spelled(low + (degree - low) % 12, first)
            notes.append(MaterialNote(f"sheet1.1.{len(notes) + 1}", first, last - first, pitch))
    if not notes:
        return ()
    line = MaterialLine("sheet1.1", tuple(notes))
    reason = "a bass from the chord symbols: the sketch has none"
    return (MaterialStrand("sheet1", "bass", "bass", (line,), "roots", reason=reason),)


def _chord_at(chords: Sequence[Chord], tick: int) -> Chord | None:
    return next((chord for chord in chords if chord.start <= tick < chord.end), None)


def _bass_at(cue: Cue, tick: int) -> SketchNote | None:
    """The bass note that is struck at a tick."""
    ids = [note for strand in cue.reading.strands if strand.role == "bass" for note in strand.lines[0].notes]
    struck = [note for note in (cue.sketch.by_id[i] for i in ids) if note.onset == tick and note.duration]
    return min(struck, key=lambda note: note.pitch.midi, default=None)


def chord_changes(line: MaterialLine, chords: Sequence[Chord], running: float) -> MaterialLine | None:
    """A running bass by its first note in each chord, held to the next one without its dot; None where it does not run: it has
    fewer than `running` notes a chord."""
    if not chords or len(line.notes) < running * len(chords):
        return None
    kept: list[MaterialNote] = []
    position = 0
    for chord in chords:
        while position < len(line.notes) and line.notes[position].onset < chord.start:
            position += 1
        own = [note for note in line.notes[position:] if note.onset < chord.end and note.duration]
        if own:
            last = max(note.end for note in own if note.onset < chord.end)
            first = own[0]
            length = min(last, chord.end) - first.onset
            marks = first.marks if length <= first.duration else tuple(m for m in first.marks if m not in DETACHED)
            kept.append(replace(first, id=f"{first.id}.r", duration=length, marks=marks))
    return MaterialLine(f"{line.id}r", tuple(kept), reduced=True) if kept else None
