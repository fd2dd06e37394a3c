"""How much sounds for how loud it is marked: long stretches outside what orchestral scores do."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import median

from autoorch.check.find import whole
from autoorch.check.limits import Limits
from autoorch.check.model import Score
from autoorch.check.report import Finding
from autoorch.tables import DYNAMICS


def bands(score: Score, limits: Limits) -> Iterator[Finding]:
    """Eight bars on end whose share of sounding parts lies outside the corpus' band for their dynamic, on one side."""
    table, shares = limits.of("texture"), limits.tables.rule("texture")["active_share"]
    counted = [part for part in score.parts if part.kind in ("wind", "bowed")]
    if len(counted) < table["parts"]:
        return
    active: list[set[int]] = [set() for _ in score.bars]
    levels: list[list[int]] = [[] for _ in score.bars]
    for part in counted:
        for note in part.notes:
            for bar in range(score.bar(note.start), score.bar(max(note.start, note.end - 1)) + 1):
                active[bar].add(part.index)
                if note.dynamic is not None:
                    levels[bar].append(note.dynamic)
    run: list[int] = []
    side = 0
    for bar in range(len(score.bars) + 1):
        now = 0
        if bar < len(score.bars) and active[bar] and levels[bar]:
            band = shares[DYNAMICS[int(median(levels[bar]))]]
            share = len(active[bar]) / len(counted)
            now = 1 if share > band[4] else -1 if share < band[0] else 0
        if now != side:
            if side and len(run) >= table["bars"]:
                yield _told(score, run, side, table["source"])
            run, side = [], now
        run.append(bar)


def _told(score: Score, run: list[int], side: int, source: str) -> Finding:
    first, last = score.bars[run[0]], score.bars[run[-1]]
    word = "more" if side > 0 else "fewer"
    message = f"to bar {last.number}: {word} parts sound than nine in ten scores let sound at this dynamic"
    return whole(score, "texture", "style", first.start, f"{len(run)} bars", "band", source, message)


RULES = (bands,)
