"""The sketch's own strands as material, each chordal one with a reduced line that keeps what must be heard."""

from __future__ import annotations

from bisect import bisect_right

from autoorch.layers.bass import chord_changes
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand
from autoorch.roles.model import Chord, Reading, Strand
from autoorch.sketch.model import Sketch, SketchNote
from autoorch.tables import Tables

_CHORDAL = ("inner", "figure", "rhythm", "counterline")


def assigned(sketch: Sketch, reading: Reading, tables: Tables) -> tuple[MaterialStrand, ...]:
    """Every strand of the reading, note for note."""
    return tuple(_strand(sketch, reading, strand, tables) for strand in reading.strands)


def _strand(sketch: Sketch, reading: Reading, strand: Strand, tables: Tables) -> MaterialStrand:
    lines = tuple(
        MaterialLine(line.id, tuple(_note(sketch.by_id[note]) for note in line.notes))
        for line in strand.lines
        if line.notes
    )
    if len(lines) > 1 and strand.role in _CHORDAL:
        lines += (MaterialLine(f"{strand.id}.r", essence(lines, reading.chords), reduced=True),)
    if strand.role == "bass" and lines:
        marked = chord_changes(lines[0], _under(lines[0], reading.chords), tables.rule("voicing")["running"]["notes"])
        lines += (marked,) if marked else ()
    return MaterialStrand(
        strand.id, strand.role, "assigned", lines, texture=strand.texture, hint=strand.hint, cuts=strand.cuts
    )


def _under(line: MaterialLine, chords: tuple[Chord, ...]) -> list[Chord]:
    """The chords from a line's first note to its last."""
    first, last = line.notes[0].onset, line.notes[-1].end
    return [chord for chord in chords if chord.start < last and chord.end > first]


def _note(note: SketchNote) -> MaterialNote:
    return MaterialNote(note.id, note.onset, note.duration, note.pitch, (note.id,), note.marks, note.grace)


def essence(lines: tuple[MaterialLine, ...], chords: tuple[Chord, ...]) -> tuple[MaterialNote, ...]:
    """One line out of several: at each attack the third of the chord, else a tendency note, else any member that is not
    the root, else what moves least; attacks that would overlap the chosen note are passed over."""
    starts = [chord.start for chord in chords]
    attacks: dict[int, list[MaterialNote]] = {}
    for line in lines:
        for note in line.notes:
            if note.duration > 0:
                attacks.setdefault(note.onset, []).append(note)
    chosen: list[MaterialNote] = []
    for onset in sorted(attacks):
        if chosen and chosen[-1].end > onset:
            continue
        chord = chords[bisect_right(starts, onset) - 1] if chords and onset >= starts[0] else None
        last = chosen[-1].pitch.midi if chosen else None

        def rank(note: MaterialNote, chord: Chord | None = chord, last: int | None = last) -> tuple[int, int, int]:
            degree = note.pitch.midi % 12
            need = 3
            if chord is not None and degree == chord.third:
                need = 0
            elif chord is not None and degree in chord.tendency:
                need = 1
            elif chord is not None and degree != chord.root:
                need = 2
            return need, abs(note.pitch.midi - last) if last is not None else 0, -note.pitch.midi

        chosen.append(min(attacks[onset], key=rank))
    return tuple(chosen)
