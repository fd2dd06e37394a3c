"""Imitation: voices that take up a subject from each other are told apart by their colour, and as strong as each other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import pairwise

from autoorch.layers.model import Entrance
from autoorch.problem.data import Option, ProblemData, Span
from autoorch.problem.terms import Cost, Form, Limit, both
from autoorch.rules.balance import strength

NAME = "imitation"


def limits(data: ProblemData) -> Iterator[Limit]:
    """None."""
    return iter(())


def costs(data: ProblemData) -> Iterator[Cost]:
    """Each entry of a subject against the one before it: their instruments, and where other strands have them their strength."""
    weights = data.tables.rule(NAME)["weights"]
    subjects: dict[int, list[Entrance]] = defaultdict(list)
    for entrance in data.material.entrances:
        subjects[entrance.subject].append(entrance)
    for entries in subjects.values():
        for first, second in pairwise(entries):
            one, other = _taken(data, first), _taken(data, second)
            if one is None or other is None or one[0] is other[0]:
                continue
            yield from _alike(data, one, other, weights["alike"])
            if first.strand != second.strand:
                yield from _uneven(data, one, other, weights)


_Taken = tuple[Span, list[Option]]


def _taken(data: ProblemData, entrance: Entrance) -> _Taken | None:
    """The span in which most of an entry lies and the options that have its line there, or None."""
    best, most = None, 0
    for span in data.spans:
        strand = data.strands[span.strand]
        line = next((k for k in span.lines if strand.lines[k].id == entrance.line), None)
        lasts = min(span.end, entrance.end) - max(span.start, entrance.start)
        if line is not None and lasts > most:
            best, most = (span, data.by_line.get((span.index, line), [])), lasts
    return best if best and best[1] else None


def _alike(data: ProblemData, one: _Taken, other: _Taken, weight: int) -> Iterator[Cost]:
    """Both entries have an instrument in common."""
    (first, own), (second, theirs) = one, other
    by_kind: dict[str, tuple[list[int], list[int]]] = defaultdict(lambda: ([], []))
    for side, options in enumerate((own, theirs)):
        for option in options:
            by_kind[data.instrument(option).id][side].append(option.index)
    length = min(first.length, second.length)
    for _, (a, b) in sorted(by_kind.items()):
        if a and b:
            phrase = max(first.phrase, second.phrase)
            literals = data.groups.any(a), data.groups.any(b)
            yield both(NAME, phrase, weight * length, *literals, "two entries of a subject in one colour")


def _uneven(data: ProblemData, one: _Taken, other: _Taken, weights: Mapping[str, int]) -> Iterator[Cost]:
    """One entry is stronger than so many times the other, at the same dynamic, by more than `even` tenths of a unit."""
    (first, own), (second, theirs) = one, other
    if data.plan[first.phrase].at(first.start).dynamic != data.plan[second.phrase].at(second.start).dynamic:
        return
    times, grain = weights["times"], weights["grain"]
    a, b = ([(option.index, round(strength(data, option) / grain)) for option in options] for options in (own, theirs))
    forms = tuple(
        Form((*strong, *((o, -times * s) for o, s in weak)), -round(weights["even"] / grain))
        for strong, weak in ((a, b), (b, a))
    )
    weight = weights["uneven"] * min(first.length, second.length)
    yield Cost(NAME, max(first.phrase, second.phrase), weight, forms, "one entry of a subject is weaker than the other")
