"""Colour holds inside a phrase: who enters or leaves a strand between its joints costs."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from autoorch.problem.data import ProblemData, Span
from autoorch.problem.terms import Cost, Form, Limit, differ

NAME = "continuity"
_Take = tuple[int, tuple[int, ...], int, int, str, str]


def limits(data: ProblemData) -> Iterator[Limit]:
    """None."""
    return iter(())


def costs(data: ProblemData) -> Iterator[Cost]:
    """Neighbouring spans of one strand in one phrase: the same players, lines and octaves."""
    weight = data.tables.rule(NAME)["weights"]["change"]
    for spans in data.strand_spans:
        for first, second in itertools.pairwise(spans):
            if first.phrase != second.phrase:
                continue
            before, after = _takes(data, first), _takes(data, second)
            for take in sorted(before.keys() | after.keys()):
                x, y = before.get(take), after.get(take)
                if x is not None and y is not None:
                    yield differ(NAME, first.phrase, weight, x, y, "a change of colour inside a phrase")
                else:
                    only = x if x is not None else y
                    assert only is not None
                    yield Cost(NAME, first.phrase, weight, (Form(((only, 1),)),), "a change of colour inside a phrase")


def _takes(data: ProblemData, span: Span) -> dict[_Take, int]:
    return {
        (o.player, o.lines, o.octave, o.share, o.instrument, o.technique): o.index for o in data.by_span[span.index]
    }
