"""What stands in several parts, gathered for one staff: marks at their ticks, dynamics and hairpins that don't contradict."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from autoorch.instruments import DYNAMICS
from autoorch.score.marks import Placed
from autoorch.score.model import Part, Score

_RANK = {name: k for k, name in enumerate(DYNAMICS)}


def marks_of(part: Part, score: Score, everybody: bool) -> Iterator[Placed]:
    """The marks of a part: those for everybody, or its own."""
    for bar, measure in zip(score.bars, part.measures, strict=True):
        for d in measure.directions:
            if d.everybody == everybody:
                yield Placed(bar.onset + d.onset, d.kind, d.value, d.text, d.staff, d.everybody)


def dynamics(marks: Iterable[Placed]) -> Iterator[Placed]:
    """The loudest dynamic at each place, where it is new."""
    at: dict[int, str] = {}
    for mark in marks:
        if mark.kind == "dynamic":
            loudest = at.get(mark.tick, mark.value)
            at[mark.tick] = max(loudest, mark.value, key=lambda value: _RANK.get(value, len(_RANK)))
    state = ""
    for tick in sorted(at):
        if at[tick] != state:
            yield Placed(tick, "dynamic", at[tick])
            state = at[tick]


def wedges(marks: Iterable[Placed]) -> Iterator[Placed]:
    """The hairpins of parts given one after the other, none twice, none overlapping; each one ends."""
    spans = []
    start: Placed | None = None
    for mark in (m for m in marks if m.kind == "wedge"):
        if mark.value == "stop" and start is not None:
            spans.append((start.tick, mark.tick, start.value))
        start = None if mark.value == "stop" else mark
    free = 0
    for begin, end, value in sorted(set(spans), key=lambda span: (span[0], -span[1], span[2])):
        if begin >= free:
            yield Placed(begin, "wedge", value)
            yield Placed(end, "wedge", "stop")
            free = end
