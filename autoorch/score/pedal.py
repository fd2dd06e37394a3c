"""What a pianist's pedal holds: short notes under it are written full for those who have none, and lose their dots.

A dot under a held pedal only says how the key is touched; the note sounds on. The bass, the harmony and the rhythm of the
sketch are held until the next note of their line, until the pedal is lifted or to the end of the bar, whichever comes first.
"""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from autoorch.layers.model import Material
from autoorch.layers.techniques import DETACHED
from autoorch.lineup import Player
from autoorch.score.streams import Grid, Played
from autoorch.sketch.model import Sketch

KINDS = ("wind", "bowed", "voice")
"""Instruments that hold a note; the others ring by themselves."""
HELD = ("bass", "pedal", "inner", "rhythm")


@dataclass(frozen=True)
class Pedal:
    """Where the sketch's pedal is down, in the score's ticks.

    Attributes:
        down, up: beginnings and ends, in order, without overlaps.
        held: lines whose notes are held on; legato: lines that move on in figures.
    """

    down: tuple[int, ...]
    up: tuple[int, ...]
    held: frozenset[str]
    legato: frozenset[str]
    grid: Grid

    @staticmethod
    def of(sketch: Sketch, material: Material, grid: Grid) -> Pedal:
        spans: list[list[int]] = []
        for mark in sorted((m for m in sketch.marks if m.kind == "pedal" and m.end > m.onset), key=lambda m: m.onset):
            start, end = mark.onset * grid.factor, mark.end * grid.factor
            if spans and start < spans[-1][1]:
                spans[-1][1] = max(spans[-1][1], end)
            else:
                spans.append([start, end])
        held = frozenset(line.id for strand in material.strands if strand.role in HELD for line in strand.lines)
        moving = frozenset(line.id for strand in material.strands if strand.role == "figure" for line in strand.lines)
        return Pedal(tuple(a for a, _ in spans), tuple(b for _, b in spans), held, moving, grid)

    def lifted(self, tick: int) -> int:
        """Where the pedal that is down at `tick` is lifted; `tick` itself where none is down."""
        index = bisect_right(self.down, tick) - 1
        return self.up[index] if index >= 0 and self.up[index] > tick else tick

    def applied(self, player: Player, notes: Sequence[Played]) -> tuple[Played, ...]:
        """The player's notes as they sound under the pedal, in the same order."""
        if not self.down or player.instrument.kind not in KINDS:
            return tuple(notes)
        single = player.instrument.notes == 1 and player.size == 1
        ends = [bar.end for bar in self.grid.bars]
        later: dict[str, list[Played]] = defaultdict(list)
        for note in notes:
            later["" if single else note.line].append(note)
        next_: dict[int, int] = {}
        for own in later.values():
            for note, after in itertools.pairwise(own):
                next_[id(note)] = after.onset
        return tuple(self._one(note, next_.get(id(note), ends[-1]), ends) for note in notes)

    def _one(self, note: Played, following: int, ends: Sequence[int]) -> Played:
        if note.line not in self.held | self.legato or self.lifted(note.onset) == note.onset:
            return note
        marks = tuple(mark for mark in note.note.marks if mark not in DETACHED)
        wet = note if marks == note.note.marks else replace(note, note=replace(note.note, marks=marks))
        if note.line not in self.held or note.techniques:
            return wet
        bar = ends[min(bisect_right(ends, note.onset), len(ends) - 1)]
        end = min(following, bar, self.lifted(note.end - 1))
        return replace(wet, end=end) if end > note.end else wet

    def slurred(self, note: Played) -> int:
        """The bar (1, 2, …) through which a figure, or notes as quick as one, go legato under the pedal; 0 elsewhere."""
        moving = note.line in self.legato or note.end - note.onset < self.grid.ticks
        dry = not moving or note.note.marks or self.lifted(note.onset) == note.onset
        return 0 if dry else 1 + bisect_right([bar.end for bar in self.grid.bars], note.onset)
