"""How a bar is built: metres as trees of halves, beats and subdivisions, and where a note or a rest may lie across them.

The rules are common practice: a note may hide a division only where one of its ends stands on that level (or where it is
the plain syncopation short-long-short); compound and mixed metres show every beat; rests show every division.
Positions are ticks from the start of the full metre.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

_NAMES = {
    Fraction(8) / 2**k: name
    for k, name in enumerate("breve whole half quarter eighth 16th 32nd 64th 128th 256th 512th 1024th".split())
}


@dataclass(frozen=True, slots=True)
class Node:
    """A stretch of a metre and its parts.

    Attributes:
        start, end: ticks.
        children: parts from left to right; () where the grid goes no finer.
        strict: a note may lie across the parts only if both its ends stand on their edges.
    """

    start: int
    end: int
    children: tuple[Node, ...] = ()
    strict: bool = False

    @property
    def length(self) -> int:
        return self.end - self.start

    @property
    def edges(self) -> tuple[int, ...]:
        return (self.start, *(child.end for child in self.children))


@lru_cache(maxsize=65536)
def notatable(length: int, ticks: int, dots: int = 1) -> tuple[str, int] | None:
    """(MusicXML type, dots) if `length` is one written value with at most that many dots, else None."""
    for count in range(dots + 1):
        plain, rest = divmod(length * 2**count, 2 ** (count + 1) - 1)
        if not rest and (name := _NAMES.get(Fraction(plain, ticks))):
            return name, count
    return None


@lru_cache(maxsize=256)
def metre_tree(beats: int, unit: int, ticks: int) -> Node:
    """The tree of one full bar of `beats`/`unit`.

    Compound metres (6, 9, 12, …) have dotted beats; 5, 7, 11, … are groups of two units with a three first (5) or last.
    """
    length = 4 * ticks // unit
    if beats % 3 == 0 and beats > 3:
        return _row([_parts(k * 3 * length, length, 3) for k in range(beats // 3)], strict=True)
    if beats & (beats - 1) == 0 or beats == 3:
        return _row([_halves(k * length, (k + 1) * length) for k in range(beats)], strict=False)
    if beats % 2 == 0:
        return _row([_parts(k * 2 * length, length, 2) for k in range(beats // 2)], strict=True)
    sizes = [3, 2] if beats == 5 else [2] * ((beats - 3) // 2) + [3]
    groups, start = [], 0
    for size in sizes:
        groups.append(_parts(start, length, size))
        start += size * length
    return Node(0, start, tuple(groups), strict=True)


@lru_cache(maxsize=256)
def bar_tree(beats: int, unit: int, ticks: int, length: int) -> Node:
    """The tree of a bar of `length` ticks: one metre, or as many as a longer bar takes."""
    whole = metre_tree(beats, unit, ticks)
    if length <= whole.length:
        return whole
    copies = tuple(_moved(whole, k * whole.length) for k in range(-(-length // whole.length)))
    return Node(0, copies[-1].end, copies, strict=True)


def _parts(start: int, length: int, count: int) -> Node:
    children = tuple(_halves(start + k * length, start + (k + 1) * length) for k in range(count))
    return Node(start, start + count * length, children)


def _row(nodes: list[Node], strict: bool) -> Node:
    """The nodes under one root; powers of two are joined by pairs."""
    if len(nodes) == 1:
        return nodes[0]
    if len(nodes) > 2 and len(nodes) & (len(nodes) - 1) == 0:
        half = len(nodes) // 2
        nodes = [_row(nodes[:half], strict), _row(nodes[half:], strict)]
    return Node(nodes[0].start, nodes[-1].end, tuple(nodes), strict)


@lru_cache(maxsize=4096)
def _halves(start: int, end: int) -> Node:
    if (end - start) % 2:
        return Node(start, end)
    middle = (start + end) // 2
    return Node(start, end, (_halves(start, middle), _halves(middle, end)))


def _moved(node: Node, by: int) -> Node:
    return Node(node.start + by, node.end + by, tuple(_moved(child, by) for child in node.children), node.strict)


def note_pieces(node: Node, start: int, end: int, ticks: int) -> Iterator[tuple[int, int]]:
    """The written values, as (start, end), of a note from `start` to `end` inside `node`."""
    for child in node.children:
        if child.start <= start and end <= child.end:
            yield from note_pieces(child, start, end, ticks)
            return
    edges = node.edges
    cuts = [edge for edge in edges[1:-1] if start < edge < end]
    if notatable(end - start, ticks) and (not cuts or _clear(node, start, end)):
        yield start, end
        return
    if not cuts:
        yield from _greedy(start, end, ticks)
        return
    cut = cuts[0] if start not in edges else cuts[-1]
    yield from note_pieces(node, start, cut, ticks)
    yield from note_pieces(node, cut, end, ticks)


def _clear(node: Node, start: int, end: int) -> bool:
    """A note across the parts of `node` leaves its beats readable."""
    edges = node.edges
    if node.strict:
        return start in edges and end in edges
    if start in edges or end in edges:
        return True
    child = node.children[0].length
    return end - start == child and 2 * (start - node.start) % child == 0


def rest_pieces(node: Node, start: int, end: int, ticks: int) -> Iterator[tuple[int, int]]:
    """The written rests, as (start, end), of a silence from `start` to `end` inside `node`."""
    whole = start == node.start and end == node.end
    if whole and (value := notatable(end - start, ticks)) and (value[1] == 0 or len(node.children) != 2 or node.strict):
        yield start, end
        return
    if not node.children:
        yield from _greedy(start, end, ticks)
        return
    parts = node.children
    if len(parts) == 3 and not node.strict and parts[0].length < ticks and start == node.start and end >= parts[1].end:
        yield start, parts[1].end
        start, parts = parts[1].end, parts[2:]
    for part in parts:
        if start < part.end and end > part.start:
            yield from rest_pieces(part, max(start, part.start), min(end, part.end), ticks)


def _greedy(start: int, end: int, ticks: int) -> Iterator[tuple[int, int]]:
    """Largest undotted values first (only where the grid goes no finer)."""
    size = end - start
    while start < end:
        while size > end - start or not notatable(size, ticks, 0):
            size -= 1
            if size == 0:
                raise ValueError(f"{end - start} ticks of {ticks} a quarter are no written value")
        yield start, start + size
        start += size
