"""The plan of the cue: how much of the orchestra each phrase wants, where the one peak is, which restatement grows."""

from __future__ import annotations

from autoorch.brief import Brief
from autoorch.instruments import DYNAMICS
from autoorch.layers.model import PhrasePlan
from autoorch.roles.model import Reading
from autoorch.sketch.bars import ticks_of
from autoorch.sketch.model import Sketch
from autoorch.tables import Tables


def make_plan(sketch: Sketch, reading: Reading, brief: Brief, tables: Tables) -> tuple[PhrasePlan, ...]:
    """One plan a phrase, from its dynamic, its place in the form, the climax of the reading, and what the brief says of it.

    Raises:
        BriefError: for a shape over bars that are not there.
    """
    table = tables.rule("plan")
    phrases = reading.phrases
    if not phrases:
        return ()
    climax = max((m for m in reading.moments if m.kind == "climax"), key=lambda m: m.strength, default=None)
    loudest = max(range(len(phrases)), key=lambda k: (DYNAMICS.index(phrases[k].dynamic), k))
    peak = reading.phrase_at(climax.onset) if climax else loudest
    shapes = [(shape, *ticks_of(sketch, shape.bars)) for shape in brief.shapes]
    for shape, start, end in shapes:
        if shape.peak:
            peak = next((k for k, p in enumerate(phrases) if p.start < end and p.end > start), peak)
    found = []
    seen: set[str] = set()
    for index, phrase in enumerate(phrases):
        weight = table["weight"][phrase.dynamic]
        letter = phrase.label.rstrip("'")
        if letter and letter in seen:
            weight += table["restatement"] if index <= peak else table["last_return"]
        seen.add(letter)
        if index == peak:
            weight += table["peak"]
        if brief.under:
            weight *= table["under"]
        for shape, start, end in shapes:
            if shape.weight is not None and start <= phrase.start < end:
                weight = shape.weight
        weight = round(min(1.0, max(table["least"], weight)), 3)
        found.append(PhrasePlan(phrase.start, phrase.end, weight, phrase.dynamic, index == peak, phrase.label))
    return tuple(found)
