"""The plan of the cue: how much of the orchestra each phrase wants, where the one peak is, which restatement grows."""

from __future__ import annotations

from autoorch.instruments import DYNAMICS
from autoorch.layers.model import PhrasePlan
from autoorch.roles.model import Reading
from autoorch.tables import Tables


def make_plan(reading: Reading, tables: Tables) -> tuple[PhrasePlan, ...]:
    """One plan a phrase, from its dynamic, its place in the form and the climax of the reading."""
    table = tables.rule("plan")
    phrases = reading.phrases
    if not phrases:
        return ()
    climax = max((m for m in reading.moments if m.kind == "climax"), key=lambda m: m.strength, default=None)
    loudest = max(range(len(phrases)), key=lambda k: (DYNAMICS.index(phrases[k].dynamic), k))
    peak = reading.phrase_at(climax.onset) if climax else loudest
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
        weight = round(min(1.0, max(table["least"], weight)), 3)
        found.append(PhrasePlan(phrase.start, phrase.end, weight, phrase.dynamic, index == peak, phrase.label))
    return tuple(found)
