"""Local key and chords against published roman numerals, beside music21's own key analysis and a plain chord baseline.

    python -m tests.benchmarks.harmony [--set chorales --set madrigals] [--first N] [--part even|odd]

Data: the pieces that music21's corpus carries with roman-numeral (RomanText) files: Bach chorales (A. Jones, proofread by
D. Tymoczko and H. Robb) and Monteverdi madrigals. Left out, and counted, are files whose bars do not lie where the
score's bars lie, or whose score stands in another key. Staves, voices and key signatures are given. Measures: mir_eval's
weighted key score and the share of time at which root and third are right, both over time, mean over pieces. Baselines:
music21's key of the whole, its key analysis bar by bar (floatingKey, four bars), and root and third of each slice that
chordify makes.
"""

from __future__ import annotations

import argparse
import re
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import mir_eval
import numpy as np
from music21 import converter, corpus
from music21.analysis.floatingKey import KeyAnalyzer

from autoorch.roles import read_roles
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Sketch

STEP = Fraction(1, 4)
"""Quarters from measuring point to measuring point; each lies in the middle of its step."""
SAME_MUSIC = 0.2
"""Share of plain slices that must agree with an analysis; one of a score in another key has next to none."""
SETS = ("chorales", "madrigals")
NAMES = "C C# D D# E F F# G G# A A# B".split()
Key = tuple[int, str]
Chord = tuple[int, int | None]
Label = tuple[Fraction, Fraction, Key | None, Chord | None]


@dataclass(frozen=True)
class Piece:
    """A score, its sketch, and the published analysis as (start, end, key, (root, third)) in quarters."""

    name: str
    score: Any
    sketch: Sketch
    truth: tuple[Label, ...]


def analyses(name: str) -> Iterator[tuple[Path, str]]:
    """Roman-numeral file and the corpus's name of its score."""
    root = Path(corpus.__file__).parent
    if name == "chorales":
        for path in sorted((root / "bach" / "choraleAnalyses").glob("*.rntxt")):
            found = re.search(r"^BWV: *([\d.]+)", path.read_text(encoding="utf-8"), re.MULTILINE)
            if found:
                yield path, f"bach/bwv{found.group(1)}"
    else:
        yield from ((path, f"monteverdi/{path.stem}") for path in sorted((root / "monteverdi").glob("*.rntxt")))


def bars(stream: Any) -> list[tuple[int, float]]:
    return [(bar.number, float(bar.offset)) for bar in stream.parts[0].getElementsByClass("Measure")]


def pieces(name: str) -> Iterator[Piece | None]:
    """All pieces of a set; None for one whose bars or chords are not those of its score."""
    for path, work in analyses(name):
        works = corpus.getWork(work)
        sources = [Path(each) for each in (works if isinstance(works, list) else [works])]
        source = max(sources, key=lambda each: each.suffix in (".mxl", ".xml"))
        score, analysis = converter.parse(source), converter.parse(path, format="romanText")
        if not set(bars(analysis)) <= set(bars(score)):
            yield None
            continue
        truth = []
        for numeral in analysis.recurse().getElementsByClass("RomanNumeral"):
            start = Fraction(numeral.getOffsetInHierarchy(analysis))
            key = (numeral.key.tonic.pitchClass, numeral.key.mode)
            third = numeral.third.pitchClass if numeral.third else None
            end = start + Fraction(numeral.quarterLength)
            truth.append((start, end, key, (numeral.root().pitchClass, third)))
        piece = Piece(path.stem, score, read_sketch(source), tuple(truth))
        same_music = scores(piece.truth, slices(piece))[1] >= SAME_MUSIC
        yield piece if same_music else None


def told(key: Key) -> str:
    return f"{NAMES[key[0]]} {key[1]}"


def at(labels: list[Label], point: Fraction) -> tuple[Key | None, Chord | None]:
    return next(((key, chord) for start, end, key, chord in labels if start <= point < end), (None, None))


def scores(truth: tuple[Label, ...], found: list[Label]) -> tuple[float, float]:
    """(weighted key score, share of time with root and third right) over the points of the analysis."""
    keys, chords = [], []
    for start, end, key, chord in truth:
        point = start + STEP / 2
        while point < end:
            mine, guess = at(found, point)
            if key is not None:
                keys.append(mir_eval.key.weighted_score(told(key), told(mine)) if mine else 0.0)
            if chord is not None and chord[1] is not None:
                chords.append(float(guess == chord))
            point += STEP
    return float(np.mean(keys)), float(np.mean(chords))


def whole_key(piece: Piece) -> list[Label]:
    key = piece.score.analyze("key")
    return [(Fraction(0), Fraction(piece.sketch.end), (key.tonic.pitchClass, key.mode), None)]


def bar_keys(piece: Piece) -> list[Label]:
    analyzer = KeyAnalyzer(piece.score)
    places = [Fraction(offset) for _, offset in bars(piece.score)] + [Fraction(piece.sketch.end)]
    keys = analyzer.run()
    return [
        (a, b, (k.tonic.pitchClass, k.mode), None) for a, b, k in zip(places, places[1:], keys, strict=False) if a < b
    ]


def slices(piece: Piece) -> list[Label]:
    found: list[Label] = []
    for chord in piece.score.chordify().flatten().getElementsByClass("Chord"):
        start, length = Fraction(chord.offset), Fraction(chord.quarterLength)
        third = chord.third.pitchClass if chord.third else None
        found.append((start, start + length, None, (chord.root().pitchClass, third)))
    return found


def read(piece: Piece) -> list[Label]:
    ticks = piece.sketch.ticks
    return [
        (
            Fraction(c.start, ticks),
            Fraction(c.end, ticks),
            c.key,
            None if c.root is None else (c.root, c.third),
        )
        for c in read_roles(piece.sketch).chords
    ]


READERS: tuple[tuple[str, Callable[[Piece], list[Label]]], ...] = (
    ("music21, whole", whole_key),
    ("music21, local", bar_keys),
    ("slices", slices),
    ("read", read),
)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--set", dest="sets", action="append", choices=SETS, help="only this set")
    parser.add_argument("--first", type=int, help="only so many pieces of each set")
    parser.add_argument(
        "--part", choices=("even", "odd"), help="every other piece: the table was made looking at even ones"
    )
    given = parser.parse_args()
    warnings.filterwarnings("ignore")
    for name in given.sets or SETS:
        rows: dict[str, list[tuple[float, float]]] = {title: [] for title, _ in READERS}
        left_out = 0
        for number, piece in enumerate(pieces(name)):
            if given.first is not None and number >= given.first:
                break
            if given.part and number % 2 != (given.part == "odd"):
                continue
            if piece is None:
                left_out += 1
                continue
            for title, reader in READERS:
                rows[title].append(scores(piece.truth, reader(piece)))
        for title, row in rows.items():
            key, chord = np.mean(row, axis=0)
            print(f"{name:10} {len(row):3} pieces ({left_out} left out)  {title:15} key {key:.3f}  chord {chord:.3f}")


if __name__ == "__main__":
    main()
