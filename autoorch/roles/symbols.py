"""Chord symbols of the sketch ("Am7/G") as evidence for the harmony, each from its place to the next one or the bar's end."""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import pairwise

from autoorch.pitch import parse
from autoorch.sketch.model import Sketch

_SYMBOL = re.compile(r"^([A-G](?:#{1,2}|b{1,2})?)([^/()|]*)")
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
    marks = sorted({(m.onset, m.value) for m in sketch.marks if m.kind == "chord"})
    found = []
    for (onset, text), (after, _) in pairwise([*marks, (sketch.end, "")]):
        last = sketch.bars[min(len(sketch.bars), sketch.bar_at(onset).index + _MOST_BARS) - 1]
        chord = read_symbol(text, kinds)
        if chord and min(after, last.end) > onset:
            found.append((onset, min(after, last.end), *chord))
    return found
