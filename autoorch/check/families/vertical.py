"""Low intervals: close intervals in the deep, over a good part of a bar."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from autoorch.check.find import note_name, whole
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding
from autoorch.tables import DYNAMICS

_LOUD = DYNAMICS.index("f")


def low_intervals(score: Score, limits: Limits) -> Iterator[Finding]:
    """The lowest two different pitches lie closer than the low-interval table allows, by a margin and for some time.

    Where the chord's assumed root is not the bass but would lie far below its own limit under it, the margin is less.
    """
    table = limits.of("low_interval")
    lowest = {int(key): value for key, value in limits.tables.rule("spacing")["lowest"].items()}
    run: list[tuple[int, int, Note, Note, int]] = []
    for start, end, sounding in score.moments:
        heard = [pair for pair in sounding if not (pair[0].instrument and pair[0].instrument.id in table["exempt"])]
        found = _mud(heard, lowest, table)
        if found is None or (run and score.bar(start) != score.bar(run[-1][0])):
            yield from _told(score, run, table)
            run = []
        if found is not None:
            run.append((start, end, *found))
    yield from _told(score, run, table)


def _mud(
    sounding: Sequence[tuple[Part, Note]], lowest: Mapping[int, int], table: Mapping[str, Any]
) -> tuple[Note, Note, int] | None:
    """The offending pair and the limit of its lower note."""
    by_pitch = {note.pitch: note for _, note in sounding}
    pitches = sorted(by_pitch)
    loud = any(note.dynamic is not None and note.dynamic >= _LOUD for _, note in sounding)
    for low, high in pairwise(pitches[:3]):
        limit = lowest.get(high - low)
        if limit is None:
            continue
        margin = table["loud_margin"] if loud else table["margin"]
        if (root := chord_root(pitches)) is not None and root != low % 12:
            under = low - (low - root) % 12
            if under < lowest.get(low - under, 0) - table["root_margin"]:
                margin = min(margin, table["loud_margin"])
        if low <= limit - margin:
            return by_pitch[low], by_pitch[high], limit
    return None


def chord_root(pitches: Sequence[int]) -> int | None:
    """Pitch class of a triad's or seventh chord's root, where the sounding notes are one."""
    classes = {pitch % 12 for pitch in pitches}
    for root in sorted(classes):
        steps = {(value - root) % 12 for value in classes}
        if steps <= {0, 3, 4, 6, 7, 8, 10, 11} and steps & {3, 4} and 7 in steps and len(steps) <= 4:
            return root
    return None


def _told(score: Score, run: Sequence[tuple[int, int, Note, Note, int]], table: Mapping[str, Any]) -> Iterator[Finding]:
    if not run:
        return
    bar = score.bars[score.bar(run[0][0])]
    ticks = sum(end - start for start, end, *_ in run)
    seconds = score.seconds(run[-1][1]) - score.seconds(run[0][0])
    if ticks < table["share"] * bar.length or seconds < table["seconds"]:
        return
    start, _, low, high, limit = min(run, key=lambda item: (item[2].pitch - item[4], item[0]))
    message = f"{low.name} with {high.name}: so close an interval wants its lower note no lower than {note_name(limit)}"
    yield whole(
        score, "low interval", "style", start, f"{low.name}-{high.name}", note_name(limit), table["source"], message
    )  # fmt: skip


RULES = (low_intervals,)
