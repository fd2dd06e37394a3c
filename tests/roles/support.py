"""Sketches to read: music21's corpus, and rows of notes in crotchets."""

from __future__ import annotations

import copy
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from music21 import corpus

from autoorch.pitch import parse
from autoorch.roles.model import Reading
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Bar, Mark, Sketch, SketchNote, Staff

TICKS = 12
PIECES = ("chopin/mazurka06-2", "mozart/k545/movement1_exposition", "bach/bwv846", "schoenberg/opus19/movement6")


@lru_cache(maxsize=8)
def piece(name: str) -> Sketch:
    """A piece of music21's corpus."""
    return read_sketch(Path(corpus.getWork(name)))


def first_bars(whole: Sketch, count: int) -> Sketch:
    """The first bars of a sketch, with the notes that begin in them; no slurs or marks."""
    bars = whole.bars[:count]
    notes = tuple(note for note in whole.notes if note.onset < bars[-1].end)
    return replace(copy.copy(whole), bars=bars, notes=notes, slurs=(), marks=())


def sketch(*rows: tuple[float, float, str], bars: int = 2) -> Sketch:
    """Rows of (onset, length, pitch), in crotchets, as one staff of four-four bars."""
    ordered = sorted(rows, key=lambda row: (row[0], parse(row[2]).midi))
    notes = tuple(
        SketchNote(f"n{k}", round(onset * TICKS), round(length * TICKS), parse(name), 0, 1)
        for k, (onset, length, name) in enumerate(ordered, 1)
    )
    bar = 4 * TICKS
    return Sketch(
        TICKS, (Staff(0, ""),), tuple(Bar(k, str(k + 1), k * bar, bar, (4, 4), 0) for k in range(bars)), notes
    )


def chords(*bars: str) -> Sketch:
    """Each text one bar: its notes struck together, four beats long."""
    rows = [(4.0 * k, 4.0, name) for k, text in enumerate(bars) for name in text.split()]
    return sketch(*rows, bars=len(bars))


def with_marks(sketch: Sketch, *marks: Mark) -> Sketch:
    """The sketch with marks."""
    return replace(copy.copy(sketch), marks=sketch.marks + marks)


def transposed(sketch: Sketch, diatonic: int, semitones: int) -> Sketch:
    """The sketch an interval higher, signature and all."""
    notes = (replace(note, pitch=note.pitch.transposed(diatonic, semitones)) for note in sketch.notes)
    fifths = 7 * semitones - 12 * diatonic
    bars = (replace(bar, fifths=bar.fifths + fifths) for bar in sketch.bars)
    return replace(copy.copy(sketch), notes=tuple(notes), bars=tuple(bars))


def doubled(sketch: Sketch) -> Sketch:
    """The sketch in note values twice as long."""
    return replace(
        copy.copy(sketch),
        notes=tuple(replace(n, onset=2 * n.onset, duration=2 * n.duration) for n in sketch.notes),
        bars=tuple(
            replace(b, onset=2 * b.onset, length=2 * b.length, metre=(2 * b.metre[0], b.metre[1])) for b in sketch.bars
        )
        if any(b.metre[1] == 1 for b in sketch.bars)
        else tuple(
            replace(b, onset=2 * b.onset, length=2 * b.length, metre=(b.metre[0], b.metre[1] // 2)) for b in sketch.bars
        ),
        marks=tuple(replace(m, onset=2 * m.onset, end=2 * m.end) for m in sketch.marks),
    )


def strands(reading: Reading) -> list[tuple[str, str, tuple[tuple[str, ...], ...]]]:
    """Role, texture and notes of every strand."""
    return [(s.role, s.texture, tuple(line.notes for line in s.lines)) for s in reading.strands]
