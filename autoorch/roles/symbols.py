"""Chord symbols of the sketch ("Am7/G") as evidence for the harmony, each from its place to the next one or the bar's end."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from itertools import pairwise

from autoorch.pitch import parse
from autoorch.sketch.model import Sketch

_SYMBOL = re.compile(r"^([A-G](?:#{1,2}|b{1,2})?)([^/()|]*)")
_BASS = re.compile(r"/([A-G](?:#{1,2}|b{1,2})?)$")
_MOST_BARS = 4


def read_symbol(text: str, kinds: Mapping[str, str]) -> tuple[int, str] | None:
    """(pitch class of the root, kind of constraints/harmony.toml), or None where the symbol is not understood."""
    match = _SYMBOL.match(text.strip())
    if match is None:
        return None
    root, suffix = match.group(1), match.group(2).strip()
    if suffix not in kinds:
        return None
    return parse(f"{root}4").midi % 12, kinds[suffix]


def symbols(sketch: Sketch, kinds: Mapping[str, str]) -> list[tuple[int, int, int, str]]:
    """(start, end, root, kind) of the symbols that are understood, in order; one holds for four bars at most."""
    return [(start, end, *chord) for start, end, _, chord in _placed(sketch, kinds)]


def basses(sketch: Sketch, kinds: Mapping[str, str]) -> list[tuple[int, int, int]]:
    """(start, end, pitch class) of what lies lowest in the same: the note behind a stroke ("Am7/G"), else the root."""
    found = []
    for start, end, text, (root, _) in _placed(sketch, kinds):
        stroke = _BASS.search(text)
        found.append((start, end, parse(f"{stroke.group(1)}4").midi % 12 if stroke else root))
    return found


def _placed(sketch: Sketch, kinds: Mapping[str, str]) -> Iterator[tuple[int, int, str, tuple[int, str]]]:
    marks = sorted({(m.onset, m.value) for m in sketch.marks if m.kind == "chord"})
    for (onset, text), (after, _) in pairwise([*marks, (sketch.end, "")]):
        last = sketch.bars[min(len(sketch.bars), sketch.bar_at(onset).index + _MOST_BARS) - 1]
        chord = read_symbol(text, kinds)
        if chord and min(after, last.end) > onset:
            yield onset, min(after, last.end), text, chord
