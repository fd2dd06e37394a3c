"""Where a direction holds: from joint to joint where its bars nearly say so, and where strands are cut for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from autoorch.brief import WISHES, Bars, Brief
from autoorch.layers.model import PhrasePlan
from autoorch.roles.model import Phrase
from autoorch.sketch.bars import ticks_of
from autoorch.sketch.model import Sketch


def held_over(sketch: Sketch, phrases: Sequence[Phrase | PhrasePlan], bars: Bars | None) -> tuple[int, int]:
    """(start, end) in ticks. Who says bars means phrases with their upbeats and ends: an edge that stands less than half a bar
    from a joint, or just half a bar behind one, is the joint, unless the bars say a beat there.

    Raises:
        BriefError: for a bar that is not there or an empty run.
    """
    start, end = ticks_of(sketch, bars)
    if bars is None:
        return start, end
    first = start if bars.from_beat != 1 else _joint(sketch, phrases, start)
    last = end if bars.to_beat is not None else _joint(sketch, phrases, end)
    return (first, last) if first < last else (start, end)


def _joint(sketch: Sketch, phrases: Sequence[Phrase | PhrasePlan], tick: int) -> int:
    """The joint that is meant by a bar line; half a bar is half of the metre's, since an upbeat's own bar is shorter."""
    beats, unit = sketch.bar_at(max(0, tick - 1)).metre
    bar = 4 * sketch.ticks * beats // unit
    joints = {edge for phrase in phrases for edge in (phrase.start, phrase.end)}
    near = (edge for edge in joints if -bar <= 2 * (edge - tick) < bar)
    return min(near, key=lambda edge: (abs(edge - tick), edge), default=tick)


def edges(sketch: Sketch, plan: Sequence[PhrasePlan], brief: Brief) -> Iterator[int]:
    """Ticks at which players or ways of playing change because a direction begins or ends."""
    for direction in brief.directions:
        if direction.technique or direction.octave is not None or any(getattr(direction, wish) for wish in WISHES):
            yield from held_over(sketch, plan, direction.bars)
