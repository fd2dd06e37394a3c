"""How much of the orchestra each phrase wants: by its dynamics, its place in the form, and the way to the one peak."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from autoorch.instruments import DYNAMICS
from autoorch.layers.turns import Level
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch
from autoorch.tables import Tables

SOFTEST_TUTTI = DYNAMICS.index("f")


def find_peak(sketch: Sketch, reading: Reading, table: Mapping[str, Any]) -> int:
    """The phrase with the largest sum of loudness (the loudest that it comes to), the tune's highest note and a late place."""
    marks = [(m.onset, DYNAMICS.index(m.value)) for m in sketch.marks if m.kind == "dynamic" and m.value in DYNAMICS]
    climax = max((m for m in reading.moments if m.kind == "climax"), key=lambda m: m.strength, default=None)
    phrases = reading.phrases
    end = phrases[-1].end

    def worth(k: int) -> tuple[float, int]:
        phrase = phrases[k]
        reached = [level for onset, level in marks if phrase.start <= onset < phrase.end]
        value = table["dynamic"] * max([DYNAMICS.index(phrase.dynamic), *reached])
        value += table["climax"] * (climax is not None and phrase.start <= climax.onset < phrase.end)
        value += table["late"] * (1 - abs((phrase.start + phrase.end) / 2 / end - table["place"]))
        return value, k

    return max(range(len(phrases)), key=worth)


@dataclass(frozen=True)
class Loudness:
    """Loudness over the whole cue, and the weights that follow from it and from the form.

    Attributes:
        levels: for each phrase (tick, dynamic) from its start and from each of its turns.
        peak: index of the peak's phrase.
        back: for each phrase that of the phrase whose material it brings back, or None.
        under: the cue lies under dialogue.
        unisons: phrases that begin with a tutti in unison.
    """

    reading: Reading
    levels: Sequence[tuple[Level, ...]]
    peak: int
    back: Sequence[int | None]
    tables: Tables
    under: bool = False
    unisons: Collection[int] = ()

    def weight(self, k: int, level: int) -> float:
        """Share of the players that phrase `k` wants where it is so loud; nowhere as much as the peak."""
        own = self._free(k, level)
        below: float = self._table["shape"]["below_peak"]
        return own if self._top(k, level) else max(self.least(k, level), min(own, self._most - below))

    def opening(self, k: int, level: int) -> float:
        """The weight of a phrase's beginning: a tutti in unison wants everybody."""
        own = self.weight(k, level)
        together: float = self._table["unison"]["weight"]
        return own if k not in self.unisons or self.under else max(own, together)

    def least(self, k: int, level: int) -> float:
        """What no phrase goes below: a quarter of the repertoire is thinner at that dynamic, a tenth than the thinnest phrase."""
        tenth, quarter, *_ = self.tables.rule("texture")["active_share"][DYNAMICS[level]]
        least: float = tenth if k == self.thinnest else quarter
        return self._table["shape"]["least"] if self.under else least

    @property
    def _table(self) -> Mapping[str, Any]:
        return self.tables.rule("plan")

    @cached_property
    def _most(self) -> float:
        return self._free(self.peak, self._highest(self.peak))

    def _highest(self, k: int) -> int:
        return max(level for _, level in self.levels[k])

    def _top(self, k: int, level: int) -> bool:
        """The loudest of the peak's phrase."""
        return k == self.peak and level == self._highest(k)

    @cached_property
    def _relieving(self) -> frozenset[int]:
        """Loud phrases that are thin, since loud ones with no thin one among them tire the ear: what comes back first of all,
        never the peak nor what leads into it, nor a tutti in unison."""
        table = self._table["shape"]
        found, full = set(), 0
        for k, levels in enumerate(self.levels):
            if levels[0][1] < SOFTEST_TUTTI or k in (self.peak, self.thinnest):
                full = 0
                continue
            full += 1
            due = full > table["loud_on_end"] + table["loud_wait"] * (self.back[k] is None)
            if due and len(levels) == 1 and k not in (self.peak - 1, *self.unisons):
                found.add(k)
                full = 0
        return frozenset(found)

    @cached_property
    def _terraces(self) -> Mapping[int, float]:
        """What phrases of a loud run have more or less than its dynamic: it begins with few and is fullest in its last phrase, so
        that loud music is no wall; a phrase that falls off inside is at first as full as the one before. What leads into the
        peak leaves it room, and an ending does not grow."""
        table = self._table["shape"]
        found: dict[int, float] = {}
        run: list[int] = []
        for k, levels in enumerate((*self.levels, ())):
            other = k in (self.peak, self.thinnest, *self._relieving, *self.unisons)
            loud = bool(levels) and not other and levels[0][1] >= SOFTEST_TUTTI
            if loud and min(level for _, level in levels) >= SOFTEST_TUTTI:
                run.append(k)
                continue
            fullest = table["run_before_peak" if k == self.peak else "run_end"]
            if levels and (steps := len(run) - 1) > 0:
                rise = fullest - table["run_start"]
                found |= {own: table["run_start"] + rise * place / steps for place, own in enumerate(run)}
                if loud:
                    found[k] = fullest
            run = []
        return found

    @cached_property
    def thinnest(self) -> int | None:
        """The phrase that is heard as the thinnest: the one with the largest sum, never the peak; None where there is no choice.

        Soft ones, the opening, a phrase said again right away, what follows the peak, and whatever is still.
        """
        table = self._table["thinnest"]
        phrases = self.reading.phrases

        def worth(k: int) -> tuple[float, int]:
            value = -table["dynamic"] * max(level for _, level in self.levels[k])
            value += table["opening"] * (k == 0)
            value += table["echo"] * (k > 0 and phrases[k].label == phrases[k - 1].label != "")
            value += table["after_peak"] * (k == self.peak + 1)
            value += table["last_return"] * (self.back[k] is not None and k > self.peak)
            value += table["character"] * (phrases[k].character in table["characters"])
            return value, -k

        free = [k for k in range(len(phrases)) if k != self.peak and k not in self.unisons]
        return max(free, key=worth) if free else None

    def _free(self, k: int, level: int) -> float:
        """The weight of a phrase by itself; a tenth of the repertoire is fuller at the dynamic than any."""
        table, peak = self._table, self.peak
        shape = table["shape"]
        weight: float = table["weight"][DYNAMICS[level]]
        if self.back[k] is not None:
            weight += shape["restatement"] if k <= peak else shape["last_return"]
        if k in self._terraces and level >= SOFTEST_TUTTI:
            weight += self._terraces[k]
        elif k < peak and k not in self.unisons:
            weight += shape["far"] * (peak - k) / peak
        if self._top(k, level):
            weight += shape["peak"]
        elif k == peak and self._highest(peak) - level <= shape["way_steps"]:
            weight += shape["way"]
        if k == peak + 1:
            weight += shape["after_peak"]
        if k > peak + 1 and k == len(self.levels) - 1 and level <= (before := self.levels[k - 1][-1][1]):
            weight = min(weight, self._free(k - 1, before))
        if k == self.thinnest or k in self._relieving:
            weight = min(weight, self.least(k, level))
        most: float = self.tables.rule("texture")["active_share"][DYNAMICS[level]][-1]
        if self.under:
            weight *= shape["under"]
        return min(most, max(self.least(k, level), weight))
