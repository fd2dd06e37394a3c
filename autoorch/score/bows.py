"""A pianist's slurs in other hands: bows for strings, breaths for winds, nothing for those who can't play one.

A bow lasts so long and holds so many notes (constraints/notation.toml), a breath as long as comes easily to its player.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from autoorch.lineup import Player
from autoorch.score.breath import MARK
from autoorch.score.notation import Notation
from autoorch.score.streams import Grid, Played
from autoorch.score.techniques import UNBOWED

Run = tuple[Played, ...]
Pair = tuple[Played, Played]

NEVER = ("mallets", "timpani", "unpitched")
AS_WRITTEN = ("keys", "plucked")
TELLING = frozenset({"staccato", "staccatissimo", "spiccato", "tenuto", "detached-legato", "accent", "strong-accent"})
"""Signs that tell two equal notes under one slur apart; without one the slur would look like a tie."""


@dataclass(frozen=True)
class Bows:
    """How long one player's slurs may be.

    Attributes:
        force: dynamic at a note.
        seconds: from the beginning to a tick.
    """

    player: Player
    grid: Grid
    house: Notation
    force: Callable[[Played], str]
    seconds: Callable[[int], float]

    def of(self, runs: Sequence[Run]) -> tuple[Pair, ...]:
        """The slurs, as first and last notes, of the sketch's slurs in this player's hands."""
        kind = self.player.instrument.kind
        if kind in NEVER:
            return ()
        found: list[Pair] = []
        if kind in AS_WRITTEN:
            found = [(run[0], run[-1]) for run in runs]
        else:
            for run in _innermost(runs):
                for piece in self._pieces(run):
                    found += ((cut[0], cut[-1]) for cut in self._short(piece) if len(cut) > 1)
        return tuple(sorted(found, key=lambda pair: (pair[0].onset, -pair[1].end, -pair[0].midi)))

    def _pieces(self, run: Run) -> Iterator[Run]:
        """The run without what no slur can go over: rests, breaths, plain repetitions, plucked notes."""
        start = 0
        for k, (before, after) in enumerate(pairwise(run), start=1):
            same = before.midi == after.midi and not TELLING.intersection(after.note.marks)
            if same or after.onset > before.end or MARK in before.note.marks or self._plucked(after):
                if not self._plucked(run[start]):
                    yield run[start:k]
                start = k
        if not self._plucked(run[start]):
            yield run[start:]

    def _plucked(self, note: Played) -> bool:
        return any(self.house.techniques[technique]["group"] == UNBOWED for technique in note.techniques)

    def _short(self, run: Run) -> Iterator[Run]:
        """The run in as few bows or breaths as it takes, cut on bar lines and beats where that serves."""
        longest, most = self._limits(run[0])
        while len(run) > 1:
            start = self.seconds(run[0].onset)
            length = self.seconds(run[-1].end) - start
            count = max(ceil(length / longest - 1e-9), ceil(len(run) / most))
            if count <= 1:
                break
            reach = [k for k in range(1, min(most, len(run) - 1) + 1) if self.seconds(run[k].onset) - start <= longest]
            cut = min(
                reach or [1],
                key=lambda k: abs(self.seconds(run[k].onset) - start - length / count) / longest + self._off(run[k]),
            )
            yield run[:cut]
            run = run[cut:]
        yield run

    def _limits(self, note: Played) -> tuple[float, int]:
        """Seconds and notes."""
        if self.player.instrument.kind == "bowed":
            slurs = self.house.slurs
            return slurs["bow_s"][self.force(note)], slurs["bow_notes"]
        breath = self.player.instrument.fluency.stretch_s
        return (breath[0] if breath else self.house.slurs["bow_s"]["mf"]), self.house.slurs["bow_notes"]

    def _off(self, note: Played) -> float:
        bar = self.grid.bar_at(note.onset)
        if note.onset == bar.onset:
            return 0.0
        on_beat = (note.onset - bar.onset) % (4 * self.grid.ticks // bar.metre[1]) == 0
        return float(self.house.slurs["off_bar" if on_beat else "off_beat"])


def _innermost(runs: Sequence[Run]) -> Iterator[Run]:
    """Each note under its shortest slur only; what is left of longer ones keeps together where it is unbroken."""
    taken: set[tuple[str, str]] = set()
    for run in sorted(runs, key=len):
        piece: list[Played] = []
        for note in run:
            if note.key in taken:
                if len(piece) > 1:
                    yield tuple(piece)
                piece = []
            else:
                piece.append(note)
        if len(piece) > 1:
            yield tuple(piece)
        taken.update(note.key for note in run)
