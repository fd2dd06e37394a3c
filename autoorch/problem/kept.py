"""Choices of another draft that are to be kept, as options of this problem: always to be had, whatever the plan prefers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from autoorch.layers.model import Material, MaterialStrand
from autoorch.lineup import Lineup
from autoorch.problem.data import Option, Span
from autoorch.problem.draft import Choice


def sounding(material: Material, choices: Iterable[Choice], start: int, end: int) -> Iterator[Choice]:
    """The choices of spans in which something of their strand sounds in [start, end), whoever has it."""
    ends: dict[tuple[str, int], int] = {}
    for choice in choices:
        key = choice.strand, choice.start
        if key not in ends:
            notes = (n for line in material.strand[choice.strand].lines for n in line.notes)
            inside = (note.end for note in notes if choice.start <= note.onset < choice.end)
            ends[key] = max(inside, default=choice.end)
        if choice.start < end and max(choice.end, ends[key]) > start:
            yield choice


def covers(choice: Choice, strand: MaterialStrand, span: Span) -> tuple[int, ...]:
    """Indices of the lines of a span that a choice takes; () where the span is none of it or only a part lies inside."""
    if choice.strand != strand.id or choice.start > span.start or span.end > choice.end:
        return ()
    return tuple(k for k in span.lines if strand.lines[k].id in choice.lines)


def kept_options(
    span: Span, strand: MaterialStrand, lineup: Lineup, offered: Iterable[Option], kept: Iterable[Choice]
) -> Iterator[Option]:
    """Options, still without an index of their own, for the kept choices of a span that are not offered."""
    seats = {player.name: number for number, player in enumerate(lineup.players)}
    known = {(o.player, o.lines, o.octave, o.share, o.techniques, o.instrument) for o in offered}
    for choice in kept:
        lines = covers(choice, strand, span)
        key = (seats[choice.player], lines, choice.octave, choice.share, choice.techniques, choice.instrument)
        if not lines or key in known:
            continue
        known.add(key)
        onset, end = min(span.lines[k].onset for k in lines), max(span.lines[k].end for k in lines)
        yield Option(
            -1, key[0], span.index, lines, choice.octave, choice.share, onset, end, choice.techniques, choice.instrument
        )
