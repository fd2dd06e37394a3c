"""What the brief says of weight and peak, phrase by phrase."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.brief import Brief
from autoorch.errors import BriefError
from autoorch.layers.directed import held_over
from autoorch.roles.model import Phrase
from autoorch.sketch.bars import mainly, runs
from autoorch.sketch.model import Sketch


def weights_given(sketch: Sketch, phrases: Sequence[Phrase], brief: Brief) -> dict[int, float]:
    """Phrase -> its weight, of the shapes that hold where it begins.

    Raises:
        BriefError: for a shape over bars that are not there, in which no phrase begins, or that says otherwise than another.
    """
    given: dict[int, float] = {}
    for shape in brief.shapes:
        start, end = held_over(sketch, phrases, shape.bars)
        if shape.weight is None:
            continue
        inside = [k for k, phrase in enumerate(phrases) if start <= phrase.start < end]
        if not inside:
            there = next((phrase for phrase in phrases if start < phrase.end), phrases[-1])
            raise BriefError(
                f"shape, bars {shape.bars}: no phrase begins there, and a weight is a phrase's; "
                f"the one around is {_told(sketch, there)}"
            )
        if twice := [k for k in inside if given.get(k, shape.weight) != shape.weight]:
            raise BriefError(
                f"shape, bars {shape.bars}: {_told(sketch, phrases[twice[0]])} have weight {given[twice[0]]:g} already"
            )
        given |= dict.fromkeys(inside, shape.weight)
    return given


def peak_given(sketch: Sketch, phrases: Sequence[Phrase], brief: Brief) -> int | None:
    """The phrase that lies most within the bars where the brief has the peak.

    Raises:
        BriefError: for bars that are not there.
    """
    for shape in brief.shapes:
        if shape.peak:
            start, end = held_over(sketch, phrases, shape.bars)
            inside = [min(end, phrase.end) - max(start, phrase.start) for phrase in phrases]
            return inside.index(max(inside))
    return None


def level_with_peak(sketch: Sketch, phrases: Sequence[Phrase], brief: Brief) -> tuple[str, ...]:
    """A line where one shape gives other phrases the weight of the peak that it marks: what is typed holds, and is told."""
    peak = peak_given(sketch, phrases, brief) if phrases else None
    shape = next((shape for shape in brief.shapes if shape.peak), None)
    if peak is None or shape is None or shape.weight is None:
        return ()
    start, end = held_over(sketch, phrases, shape.bars)
    others = [phrase for k, phrase in enumerate(phrases) if k != peak and start <= phrase.start < end]
    if not others:
        return ()
    around = runs(sketch, [bar for phrase in others for bar in mainly(sketch, phrase.start, phrase.end)])
    return (
        f"shape, bars {shape.bars}: the one peak is {_told(sketch, phrases[peak])}, but weight {shape.weight:g} is asked for"
        f" in {around} as well; give the weight to the peak alone to have less around it",
    )


def _told(sketch: Sketch, phrase: Phrase) -> str:
    """ "bars 17-20" of the phrase, an upbeat left out."""
    return runs(sketch, mainly(sketch, phrase.start, phrase.end))
