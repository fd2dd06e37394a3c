"""A bar's rhythm as it is written: values, dots, ties, tuplets and beams. It knows times only, no pitches.

Equal rhythms come back again and again in a score, so each is worked out once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from autoorch.score.metre import Node, bar_tree, notatable, note_pieces, rest_pieces
from autoorch.score.notation import Notation
from autoorch.score.tuplets import Window, tuplet_pieces, windows

FLAGS = {"eighth": 1, "16th": 2, "32nd": 3, "64th": 4, "128th": 5, "256th": 6, "512th": 7, "1024th": 8}


@dataclass(frozen=True, slots=True)
class Piece:
    """One written value of slice number `slice`; see score.model.Event for the other fields.

    `tied` says that the same slice goes on in the next piece.
    """

    slice: int
    onset: int
    duration: int
    value: str
    dots: int
    tuplet: tuple[int, int, str] | None = None
    tuplet_start: bool = False
    tuplet_stop: bool = False
    tied: bool = False
    beams: tuple[str, ...] = ()


@lru_cache(maxsize=65536)
def write_rhythm(
    slices: tuple[tuple[int, int, bool], ...],
    length: int,
    offset: int,
    metre: tuple[int, int],
    ticks: int,
    house: Notation,
) -> tuple[Piece, ...]:
    """How the slices of one voice are written.

    Args:
        slices: (start, end, is a rest) in ticks from the bar's start, covering the bar without gaps.
        length: ticks of the bar.
        offset: where the bar starts within its metre (a pickup of one beat in 4/4 starts at 3).
        metre: (beats, beat unit).
        ticks: ticks a quarter.
        house: how tuplets are bracketed.

    Returns:
        pieces in time order, onsets from the bar's start. One rest as long as a full metre has the value "".

    Raises:
        ValueError: for a slice that no written values can express (shorter than a 1024th).
    """
    tree = bar_tree(*metre, ticks, offset + length)
    if len(slices) == 1 and slices[0][2] and length == bar_tree(*metre, ticks, 1).length:
        return (Piece(0, 0, length, "", 0),)
    moved = [(start + offset, end + offset, rest) for start, end, rest in slices]
    found = windows(tree, moved, ticks, house)
    pieces: list[Piece] = []
    for index, (start, end, rest) in enumerate(moved):
        own = list(_slice(tree, found, start, end, rest, ticks))
        for k, (a, b, value, dots, window) in enumerate(own):
            kind = (window.actual, window.normal, window.kind) if window else None
            opens, closes = bool(window and a == window.start), bool(window and b == window.end)
            tied = not rest and k + 1 < len(own)
            pieces.append(Piece(index, a, b - a, value, dots, kind, opens, closes, tied))
    rests = [rest for _, _, rest in slices]
    beamed = _beam(tree, pieces, rests, found, ticks)
    return tuple(replace(piece, onset=piece.onset - offset) for piece in beamed)


def _slice(
    tree: Node, found: Sequence[Window], start: int, end: int, rest: bool, ticks: int
) -> list[tuple[int, int, str, int, Window | None]]:
    pieces: list[tuple[int, int, str, int, Window | None]] = []
    at = start
    for window in [w for w in found if w.start < end and w.end > start]:
        if at < window.start:
            pieces += _plain(tree, at, window.start, rest, ticks)
        a, b = max(at, window.start), min(end, window.end)
        pieces += [(*piece, window) for piece in tuplet_pieces(window, a, b, rest, ticks)]
        at = b
    if at < end:
        pieces += _plain(tree, at, end, rest, ticks)
    return pieces


def _plain(tree: Node, start: int, end: int, rest: bool, ticks: int) -> list[tuple[int, int, str, int, None]]:
    pieces: list[tuple[int, int, str, int, None]] = []
    for a, b in (rest_pieces if rest else note_pieces)(tree, start, end, ticks):
        value = notatable(b - a, ticks)
        if value is None:
            raise ValueError(f"{Fraction(b - a, ticks)} quarters are no written value")
        pieces.append((a, b, *value, None))
    return pieces


def _beam(tree: Node, pieces: list[Piece], rests: Sequence[bool], found: Sequence[Window], ticks: int) -> list[Piece]:
    groups = _beam_groups(tree, pieces, rests, ticks)
    wide = [(w.start, w.end) for w in found]
    groups = [g for g in groups if not any(a < g[1] and b > g[0] and b - a > g[1] - g[0] for a, b in wide)]
    groups += [w for w in wide if not any(a <= w[0] and w[1] <= b for a, b in groups)]
    beamed = list(pieces)
    for start, end in groups:
        run: list[int] = []
        for k, piece in enumerate(pieces):
            inside = start <= piece.onset and piece.onset + piece.duration <= end
            if inside and piece.value in FLAGS and not rests[piece.slice]:
                run.append(k)
            else:
                _join(beamed, run)
                run = []
        _join(beamed, run)
    return beamed


def _beam_groups(tree: Node, pieces: list[Piece], rests: Sequence[bool], ticks: int) -> list[tuple[int, int]]:
    """Beats (dotted ones in compound metres); plain eighths are beamed over two or three quarters."""
    plain = all(
        piece.value == "eighth" and not piece.dots and not piece.tuplet and not rests[piece.slice]
        for piece in pieces
        if piece.onset < tree.end and piece.onset + piece.duration > tree.start
    )
    quarters = tree.length / ticks
    if not tree.children or quarters <= 1 or (quarters == 1.5 and len(tree.children) == 3):
        return [(tree.start, tree.end)]
    if plain and not tree.strict and quarters <= 3:
        return [(tree.start, tree.end)]
    inside = [[p for p in pieces if p.onset < c.end and p.onset + p.duration > c.start] for c in tree.children]
    return [g for c, own in zip(tree.children, inside, strict=True) for g in _beam_groups(c, own, rests, ticks)]


def _join(pieces: list[Piece], run: list[int]) -> None:
    """Beam values for the neighbours `run`, level by level."""
    if len(run) < 2:
        return
    flags = [FLAGS[pieces[k].value] for k in run]
    for place, k in enumerate(run):
        marks = []
        for level in range(1, flags[place] + 1):
            before = place > 0 and flags[place - 1] >= level
            after = place + 1 < len(run) and flags[place + 1] >= level
            if before and after:
                marks.append("continue")
            elif after:
                marks.append("begin")
            elif before:
                marks.append("end")
            else:
                back = place + 1 == len(run) or (place > 0 and not _leads(pieces, k))
                marks.append("backward hook" if back else "forward hook")
        pieces[k] = replace(pieces[k], beams=tuple(marks))


def _leads(pieces: list[Piece], k: int) -> bool:
    """A short note in the middle of a beam belongs to what follows where it starts on a multiple of twice its length."""
    piece = pieces[k]
    return piece.onset % (2 * piece.duration) == 0
