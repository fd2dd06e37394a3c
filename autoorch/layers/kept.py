"""Bars of another draft brought over: what its layers had added there, and the ways of playing that were open there."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from autoorch.layers.model import Manner, Material, MaterialStrand

BROUGHT = ".k"
"""Begins the end of a name that a strand or line brought over has."""


@dataclass(frozen=True)
class Passage:
    """A stretch of another draft's material.

    Attributes:
        start, end: ticks.
        strands: added strands that this material has not, with names of their own.
        manners: those that held there.
        cuts: ticks at which it may change hands and this material does not.
    """

    start: int
    end: int
    strands: tuple[MaterialStrand, ...] = ()
    manners: tuple[Manner, ...] = ()
    cuts: tuple[int, ...] = ()


def passage(own: Material, other: Material, used: Collection[str], start: int, end: int, tag: str) -> Passage:
    """What of `other` the strands `used` in [start, end) need to be played in `own`; what it brings over is named with `tag`."""
    strands = []
    for name in sorted(used):
        strand = other.strand[name]
        if strand.layer != "assigned" and own.strand.get(name) != strand:
            strands.append(_cut_out(strand, start, end, tag))
    brought = {strand.id for strand in strands}
    manners = [
        replace(part, strand=part.strand + tag if part.strand + tag in brought else part.strand)
        for manner in other.manners
        for part in _inside(manner, start, end)
    ]
    return Passage(start, end, tuple(strands), tuple(manners))


def fresh_cuts(own: Material, edges: Iterable[tuple[str, int]], start: int, end: int) -> tuple[int, ...]:
    """Edges, (strand, tick), of another draft's choices inside [start, end) at which `own` does not cut that strand: the other
    plan turns there and ours does not."""
    joints = {tick for phrase in own.plan for tick in (phrase.start, phrase.end)}.union(own.seams)
    known = {name: joints.union(strand.cuts) for name, strand in own.strand.items()}
    return tuple(sorted({tick for name, tick in edges if start < tick < end and tick not in known.get(name, joints)}))


def _cut_out(strand: MaterialStrand, start: int, end: int, tag: str) -> MaterialStrand:
    """The strand's notes that sound in [start, end)."""
    lines = tuple(
        replace(
            line,
            id=line.id + tag,
            notes=tuple(n for n in line.notes if n.onset < end and max(n.end, n.onset + 1) > start),
        )
        for line in strand.lines
    )
    return replace(strand, id=strand.id + tag, lines=tuple(line for line in lines if line.notes))


def with_passages(material: Material, passages: Sequence[Passage]) -> Material:
    """The material with passages brought over, and seams at their ends."""
    manners = list(material.manners)
    for one in passages:
        manners = [part for manner in manners for part in _outside(manner, one.start, one.end)] + list(one.manners)
    end = material.plan[-1].end if material.plan else 0
    return replace(
        material,
        strands=material.strands + tuple(strand for one in passages for strand in one.strands),
        manners=tuple(manners),
        seams=tuple(
            sorted({*material.seams} | {t for one in passages for t in (one.start, *one.cuts, one.end) if 0 < t < end})
        ),
    )


def _inside(manner: Manner, start: int, end: int) -> Iterator[Manner]:
    if manner.start < end and manner.end > start:
        yield replace(manner, start=max(manner.start, start), end=min(manner.end, end))


def _outside(manner: Manner, start: int, end: int) -> Iterator[Manner]:
    yield from _inside(manner, manner.start, start) if manner.start < start else ()
    yield from _inside(manner, end, manner.end) if manner.end > end else ()
