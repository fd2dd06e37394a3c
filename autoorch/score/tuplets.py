"""Tuplets from exact times: which stretches of a bar need one, and of what kind.

A point off the plain grid (its place in quarters has a denominator that is no power of two) must lie inside a tuplet's
window. Windows are nodes of the metre's tree or two neighbours of one node, never nested; of all ways to cover the
points the cheapest is taken: few windows, simple ratios, beats shown, no note cut at a window's edge.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import inf, lcm

from autoorch.score.metre import Node, notatable
from autoorch.score.notation import Notation


@dataclass(frozen=True, slots=True)
class Window:
    """`actual` notes in the time of `normal` notes of `kind` (a MusicXML type), from `start` to `end` (ticks)."""

    start: int
    end: int
    actual: int
    normal: int
    kind: str


def windows(tree: Node, slices: Sequence[tuple[int, int, bool]], ticks: int, house: Notation) -> tuple[Window, ...]:
    """The tuplets of one voice of one bar, from left to right.

    Args:
        tree: the bar's metre.
        slices: (start, end, is a rest) in ticks from the metre's start, in order, without gaps.
        ticks: ticks a quarter.
        house: what each kind of window costs.

    Raises:
        ValueError: where the values would be shorter than a 1024th.
    """
    points = sorted({start for start, _, _ in slices} | {end for _, end, _ in slices})
    off = [point for point in points if (d := Fraction(point, ticks).denominator) & (d - 1)]
    if not off:
        return ()
    beat = ticks * 3 // 2 if tree.strict and tree.children[0].length % 3 == 0 else ticks
    cost, found = _cover(tree, _Bar(points, slices, ticks, beat, house), off)
    if cost == inf:
        raise ValueError(f"no tuplet has notes at {', '.join(str(Fraction(p, ticks)) for p in off[:4])} quarters")
    return found


@dataclass(frozen=True, slots=True)
class _Bar:
    points: list[int]
    slices: Sequence[tuple[int, int, bool]]
    ticks: int
    beat: int
    house: Notation


def _cover(node: Node, bar: _Bar, off: list[int]) -> tuple[float, tuple[Window, ...]]:
    """The cheapest windows inside `node` for the points of `off`, which all lie inside it."""
    best = _one(node.start, node.end, bar)
    if not node.children:
        return best
    parts = node.children
    inside = [[p for p in off if part.start < p < part.end] for part in parts]
    if sum(map(len, inside)) < len(off):
        return best
    run: list[tuple[float, tuple[Window, ...]]] = [(0.0, ())]
    for k, part in enumerate(parts):
        ways = [run[k]]
        if inside[k]:
            cost, found = _cover(part, bar, inside[k])
            ways = [(run[k][0] + cost, run[k][1] + found)]
        if k and len(parts) > 2 and (inside[k] or inside[k - 1]):
            cost, found = _one(parts[k - 1].start, part.end, bar)
            ways.append((run[k - 1][0] + cost, run[k - 1][1] + found))
        run.append(min(ways, key=lambda way: way[0]))
    return min(best, run[-1], key=lambda way: way[0])


def _one(start: int, end: int, bar: _Bar) -> tuple[float, tuple[Window, ...]]:
    """One window from `start` to `end`, with its cost."""
    length = end - start
    places = [Fraction(p - start, length).denominator for p in bar.points if start < p < end]
    grid = lcm(*places)
    odd = grid // (grid & -grid)
    mixed = odd not in {place // (place & -place) for place in places}
    size = Fraction(length, bar.ticks)
    base = size.numerator // (size.numerator & -size.numerator)
    inner = [s for s in bar.slices if s[0] < end and s[1] > start]
    price = bar.house.tuplets
    cost = bar.house.ratio.get(odd, price["rare"] if odd <= price["most_notes"] else price["wild"])
    cost += price["mixed"] * mixed
    cost += price["cut"] * sum(not s[2] for edge in (start, end) for s in inner if s[0] < edge < s[1])
    if length <= bar.beat:
        cost += 1.0
    else:
        cost += price["wide"] * length / bar.ticks + price["fine"] * ((grid // odd).bit_length() - 1)
    actual, normal = odd, base
    while normal * 2 <= actual:
        normal *= 2
    if grid == 2 * odd and odd == 3 and len(inner) == grid and all(6 * (b - a) == length for a, b, _ in inner):
        actual, normal = 2 * actual, 2 * normal
    value = notatable(length, bar.ticks * normal, 0)
    if value is None:
        return inf, ()
    return cost, (Window(start, end, actual, normal, value[0]),)


def tuplet_pieces(window: Window, start: int, end: int, rest: bool, ticks: int) -> Iterator[tuple[int, int, str, int]]:
    """The written values (start, end, type, dots) of a slice inside a window; rests have no dots."""
    scale = ticks * window.normal
    unit = Fraction(window.end - window.start, window.actual)
    while start < end:
        whole = notatable((end - start) * window.actual, scale, 0 if rest else 1)
        if whole:
            yield start, end, *whole
            return
        part = unit
        while 2 * part < end - start:
            part *= 2
        while part > end - start or part.denominator != 1:
            part /= 2
            if part < 1:
                raise ValueError(f"{end - start} ticks in {window.actual}:{window.normal} are no written value")
        value = notatable(int(part) * window.actual, scale, 0)
        if value is None:
            raise ValueError(f"{part} ticks in {window.actual}:{window.normal} are no written value")
        yield start, start + int(part), *value
        start += int(part)
