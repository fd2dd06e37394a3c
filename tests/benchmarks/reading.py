"""How well sketches are read: melody, main line and voices against labelled pieces, each beside its plain baseline.

    python -m tests.benchmarks.reading FOLDER [--set sonatas --set voices ...] [--others]

FOLDER holds melody/sonatas/*.csv (Mozart movements of the Symbolic-Melody-Identification data), melody/pop/*.mid (POP909:
tracks MELODY, BRIDGE, PIANO), melody/songs/*.mxl (OpenScore Lieder, voice first) and reductions/*.csv (symphonic movements
of OpenScore Orchestra reduced to two tracks). Staves and voices are withheld. The chorales and quartets of "voices" are
music21's own. Measures: note F1 (melody; mean over pieces), share of the main line's time that is found at its pitch
(reductions), F1 of consecutive pairs of notes (voices). Notes of the same attack, end and pitch (a piano that plays the voice's
note) can't be told apart and are compared as one. --others leaves out every second piece of a set, those that
tests/benchmarks/fitting.py --half fits on.
"""

from __future__ import annotations

import argparse
import csv
import itertools
from collections import Counter
from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path
from time import perf_counter

import mido
import numpy as np
from music21 import converter, corpus

from autoorch.pitch import from_midi
from autoorch.roles import read_roles
from autoorch.roles.model import Strand
from autoorch.roles.parameters import parameters
from autoorch.roles.texture import Texture
from autoorch.roles.voices import in_voices, voices_table
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.tables import load_tables

SETS = ("sonatas", "songs", "pop", "reductions", "voices")
QUARTETS = ("haydn/opus74no1/movement1", "haydn/opus1no1/movement1", "mozart/k458/movement1", "mozart/k155/movement1")
TICKS = 960
STEP = 12
Row = tuple[float, float, int, int, int | None]  # onset and length in quarters, pitch, label, velocity


def made(rows: list[Row]) -> tuple[Sketch, list[int]]:
    """A sketch of one staff in four-four, and the label of each of its notes."""
    rows = sorted(rows, key=lambda row: (row[0], row[2], row[1]))
    early = 4 if rows[0][0] < 0 else 0  # a pickup stands before 0 in some sets
    rows = [(row[0] + early, *row[1:]) for row in rows]
    notes = tuple(
        SketchNote(f"n{k}", round(o * TICKS), max(1, round(d * TICKS)), from_midi(p), 0, 0, velocity=v)
        for k, (o, d, p, _, v) in enumerate(rows, 1)
    )
    bar = 4 * TICKS
    count = -(-max(note.end for note in notes) // bar)
    bars = tuple(Bar(k, str(k + 1), k * bar, bar, (4, 4), 0) for k in range(count))
    return Sketch(TICKS, (Staff(0, ""),), bars, notes, source="midi"), [row[3] for row in rows]


def of_csv(path: Path, label: str) -> list[Row]:
    with path.open(encoding="utf-8", newline="") as file:
        return [
            (float(r["onset_quarter"]), float(r["duration_quarter"]), int(r["pitch_midi"]), int(r[label]), None)
            for r in csv.DictReader(file)
        ]


def of_midi(path: Path) -> list[Row]:
    file = mido.MidiFile(path)
    rows: list[Row] = []
    for track in file.tracks:
        now = 0
        open_notes: dict[int, list[tuple[int, int]]] = {}
        for event in track:
            now += event.time
            if event.type == "note_on" and event.velocity:
                open_notes.setdefault(event.note, []).append((now, event.velocity))
            elif event.type in ("note_on", "note_off") and open_notes.get(event.note):
                start, loud = open_notes[event.note].pop(0)
                scale = file.ticks_per_beat
                rows.append((start / scale, (now - start) / scale, event.note, int(track.name == "MELODY"), loud))
    return rows


def of_score(score: object) -> list[Row]:
    """Notes of a music21 score with the number of their part as label."""
    return [
        (float(n.offset), float(n.quarterLength), int(pitch.ps), k, None)
        for k, part in enumerate(score.parts)  # type: ignore[attr-defined]
        for n in part.stripTies().flatten().notes
        if not n.duration.isGrace and "ChordSymbol" not in n.classes and hasattr(n, "pitches")
        for pitch in n.pitches
    ]


def pieces(name: str, folder: Path) -> Iterator[list[Row]]:
    """All pieces of a set; label 1 is melody (or, for "voices", the number of the part)."""
    if name == "sonatas":
        yield from (of_csv(path, "melody") for path in sorted((folder / "melody" / name).glob("*.csv")))
    elif name == "reductions":
        yield from (of_csv(path, "main") for path in sorted((folder / name).glob("*.csv")))
    elif name == "pop":
        yield from (of_midi(path) for path in sorted((folder / "melody" / name).glob("*.mid")))
    elif name == "songs":
        for path in sorted((folder / "melody" / name).glob("*.mxl")):
            yield [(*row[:3], int(row[3] == 0), None) for row in of_score(converter.parse(path))]
    else:
        for path in sorted(corpus.getComposer("bach"), key=str):
            if Path(path).stem.startswith("bwv") and len((score := corpus.parse(path)).parts) == 4:
                yield of_score(score)


def f1(hits: int, found: int, wanted: int) -> float:
    return 2 * hits / max(1, found + wanted)


def note_f1(texture: Texture, labels: dict[str, int], chosen: set[str]) -> float:
    truth = {(t.onset, t.end, t.pitch) for t in texture.tones if labels[t.id]}
    found = {(t.onset, t.end, t.pitch) for t in texture.tones if t.id in chosen}
    return f1(len(truth & found), len(found), len(truth))


def time_share(texture: Texture, labels: dict[str, int], chosen: set[str]) -> float:
    def cells(ids: set[str]) -> set[tuple[int, int]]:
        scale = Fraction(STEP, TICKS)
        return {
            (cell, tone.pitch)
            for tone in texture.tones
            if tone.id in ids
            for cell in range(round(tone.onset * scale), max(round(tone.onset * scale) + 1, round(tone.end * scale)))
        }

    truth, mine = cells({note for note, label in labels.items() if label}), cells(chosen)
    return len({cell for cell, _ in truth & mine}) / max(1, len({cell for cell, _ in truth}))


def _principal(strand: Strand) -> Iterable[str]:
    """The notes of a tune without its copies in octaves, thirds, sixths, which have lines of their own."""
    lines = strand.lines if strand.texture == "tune" else strand.lines[:1]
    return (note for line in lines for note in line.notes)


def melody(name: str, folder: Path, others: bool) -> None:
    measure = time_share if name == "reductions" else note_f1
    top, read, seconds, count = [], [], 0.0, 0
    for rows in list(pieces(name, folder))[1 if others else 0 :: 2 if others else 1]:
        sketch, truth = made(rows)
        texture = Texture(sketch)
        labels = {note.id: label for note, label in zip(sketch.notes, truth, strict=True)}
        start = perf_counter()
        reading = read_roles(sketch)
        seconds += perf_counter() - start
        count += len(rows)
        tune = {n for s in reading.strands if s.role == "melody" for n in _principal(s)}
        top.append(
            measure(texture, labels, {t.id for t in texture.tones if texture.sounding[t.onset][0].pitch == t.pitch})
        )
        read.append(measure(texture, labels, tune))
    print(
        f"{name:11} {len(read):4} pieces  top note {np.mean(top):.3f}  read {np.mean(read):.3f}  "
        f"(lowest {min(read):.3f}; {1000 * seconds / count:.2f} s a thousand notes)"
    )


def pair_f1(rows: list[Row], found: list[int]) -> float:
    def pairs(voices: list[int]) -> Counter[tuple[Row, Row]]:
        by_voice: dict[int, dict[float, list[Row]]] = {}
        for row, voice in zip(rows, voices, strict=True):
            by_voice.setdefault(voice, {}).setdefault(row[0], []).append((*row[:3], 0, None))
        out: Counter[tuple[Row, Row]] = Counter()
        for onsets in by_voice.values():
            order = sorted(onsets)
            for a, b in itertools.pairwise(order):
                out.update((x, y) for x in onsets[a] for y in onsets[b])
        return out

    truth, mine = pairs([row[3] for row in rows]), pairs(found)
    return f1((truth & mine).total(), mine.total(), truth.total())


def voices(folder: Path) -> None:
    costs, table = parameters(load_tables())["lines"], voices_table(load_tables())
    sets = {
        "chorales": list(pieces("voices", folder)),
        "quartets": [of_score(corpus.parse(name)) for name in QUARTETS],
    }
    for name, rows_of in sets.items():
        scores = []
        for rows in rows_of:
            rows = sorted(rows, key=lambda row: (row[0], row[2], row[1]))
            sketch, _ = made(rows)
            line_of = {t.id: k for k, line in enumerate(in_voices(Texture(sketch).tones, table, costs)) for t in line}
            scores.append(pair_f1(rows, [line_of[note.id] for note in sketch.notes]))
        print(f"{name:11} {len(scores):4} pieces  pair F1 {np.mean(scores):.3f}  (lowest {min(scores):.3f})")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--set", dest="sets", action="append", choices=SETS, help="only this set")
    parser.add_argument("--others", action="store_true", help="only every second piece, from the second on")
    given = parser.parse_args()
    for name in given.sets or SETS:
        if name == "voices":
            voices(given.folder)
        else:
            melody(name, given.folder, given.others)


if __name__ == "__main__":
    main()
