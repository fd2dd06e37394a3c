"""Rehearsal letters: the sketch's own, or ours at the landmarks of its form, always on a bar line."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count

from autoorch.roles.model import Reading
from autoorch.score.marks import Placed
from autoorch.score.notation import Notation
from autoorch.score.streams import Grid
from autoorch.sketch.model import Sketch

KIND = "rehearsal"


def letters(sketch: Sketch, reading: Reading, grid: Grid, house: Notation) -> list[Placed]:
    """Our letters; none where the sketch has its own.

    A new key and a double bar have one at once; new material only where the last landmark is far enough away and no
    stronger one follows soon.
    """
    if any(mark.kind == KIND for mark in sketch.marks):
        return []
    apart = house.rehearsal["bars_apart"]
    strong = {
        bar.index
        for bar, before in zip(grid.bars[1:], grid.bars, strict=False)
        if before.barline == "double" or (bar.fifths, bar.mode) != (before.fifths, before.mode)
    }
    names = _names(house.rehearsal["letters"])
    found, last = [], 0
    for index in sorted(strong | _material(reading, grid)):
        near = index - last < (apart // 2 if index in strong else apart)
        soon = index not in strong and any(index < other < index + apart // 2 for other in strong)
        if index and not near and not soon and len(grid.bars) - index >= apart // 2:
            found.append(Placed(grid.bars[index].onset, KIND, next(names)))
            last = index
    return found


def _material(reading: Reading, grid: Grid) -> set[int]:
    """Bars in which phrases of other material begin; after an upbeat the full bar."""
    found = set()
    for phrase, before in zip(reading.phrases[1:], reading.phrases, strict=False):
        if phrase.label.rstrip("'") != before.label.rstrip("'"):
            bar = grid.bar_at(phrase.start * grid.factor)
            later = bar.onset < phrase.start * grid.factor
            found.add(min(bar.index + later, len(grid.bars) - 1))
    return found


def _names(letters_: str) -> Iterator[str]:
    """A, B, … Z, AA, BB, …"""
    for times in count(1):
        yield from (letter * times for letter in letters_)
