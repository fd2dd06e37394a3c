"""Where colour may change: each strand cut at phrase joints, at its own cuts, and wherever no one instrument could go on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

from autoorch.instruments import Instrument
from autoorch.layers.model import Material, MaterialNote, MaterialStrand
from autoorch.lineup import Lineup
from autoorch.problem.data import Cell, Span, notes_in
from autoorch.problem.profile import profile

WIDE_LEAP = 24
"""Semitones between contiguous notes at which a strand is cut, so that two players may share it (common practice: a line
that leaps two octaves is two lines)."""
FARTHEST = 3
"""Octaves that a span may be moved at the very most."""


def fits(instruments: Sequence[Instrument], low: int, high: int) -> bool:
    """Some instrument has all of low..high in its extreme range at some octave shift."""
    for instrument in instruments:
        bottom, top = instrument.extreme
        if any(low + 12 * k >= bottom and high + 12 * k <= top for k in range(-FARTHEST, FARTHEST + 1)):
            return True
    return False


def cut(
    notes: Sequence[MaterialNote], start: int, end: int, instruments: Sequence[Instrument], at: Sequence[int] = ()
) -> list[int]:
    """Cut points inside (start, end): those of `at`, and more until each piece fits some instrument.

    A piece that fits nobody is cut before the note after the widest leap nearest to its middle; a single note stays as it is.
    """
    inner = notes_in(notes, start, end)
    points = [tick for tick in at if start < tick < end]
    if points:
        edges = [start, *points, end]
        more = [tick for a, b in pairwise(edges) for tick in cut(notes, a, b, instruments)]
        return sorted({*points, *more})
    if len({n.onset for n in inner}) < 2:
        return []
    pitches = [n.pitch.midi for n in inner]
    if fits(instruments, min(pitches), max(pitches)):
        return []
    middle = (inner[0].onset + inner[-1].onset) / 2
    leaps = [
        (-abs(b.pitch.midi - a.pitch.midi), abs(b.onset - middle), b.onset)
        for a, b in pairwise(inner)
        if b.onset > start and b.onset > a.onset
    ]
    if not leaps:
        return []
    tick = min(leaps)[2]
    return sorted({tick, *cut(notes, start, tick, instruments), *cut(notes, tick, end, instruments)})


def _kept_cuts(strand: MaterialStrand, start: int, end: int, shortest: int) -> list[int]:
    """The strand's own cuts in a phrase that leave pieces of at least `shortest` ticks."""
    kept: list[int] = []
    last = start
    for tick in strand.cuts:
        if start < tick < end and tick - last >= shortest and end - tick >= shortest:
            kept.append(tick)
            last = tick
    return kept


def _entries(lines: Sequence[tuple[int, Sequence[MaterialNote]]], rest: Callable[[int], int]) -> set[int]:
    """Where a strand comes in again after all its lines have been silent for `rest`."""
    found: set[int] = set()
    end: int | None = None
    for note in sorted((note for _, notes in lines for note in notes), key=lambda note: note.onset):
        if end is not None and note.onset - end >= rest(note.onset):
            found.add(note.onset)
        end = max(end or 0, note.end)
    return found


def _leap(first: MaterialNote, second: MaterialNote) -> int:
    return abs(second.pitch.midi - first.pitch.midi)


def make_spans(
    material: Material,
    lineup: Lineup,
    seconds: Callable[[int], float],
    quarter_bar: Callable[[int], int],
    shortest: Callable[[int], int],
    rest: Callable[[int], int] | None = None,
) -> list[Span]:
    """All spans in order of phrase, then strand, then time.

    Args:
        material: the strands.
        lineup: who could play them.
        seconds: ticks to seconds.
        quarter_bar: tick -> ticks of a quarter of the bar there.
        shortest: tick -> least length in ticks of a span that the strand's own cuts may make there.
        rest: tick -> ticks of silence at which a strand is cut too, so that few players can serve strands in turn.
    """
    spans: list[Span] = []
    pitched = [p.instrument for p in lineup.players if p.instrument.kind not in ("unpitched", "timpani")]
    pitched = [one for one in pitched if one.kind in ("wind", "bowed")] or pitched
    for number, phrase in enumerate(material.plan):
        for index, strand in enumerate(material.strands):
            lines = [(k, notes_in(line.notes, phrase.start, phrase.end)) for k, line in enumerate(strand.lines)]
            lines = [(k, notes) for k, notes in lines if notes]
            if not lines:
                continue
            points = set(_kept_cuts(strand, phrase.start, phrase.end, shortest(phrase.start)))
            points |= {tick for tick in material.seams if phrase.start < tick < phrase.end}
            if strand.role == "melody":
                points |= {turn.start for turn in phrase.turns if turn.tune}
            points |= {
                tick for name, tick in material.answers if name == strand.id and phrase.start < tick < phrase.end
            }
            if rest is not None and strand.layer == "assigned":
                points |= _entries(lines, rest)
            if not strand.families:
                for _, notes in lines:
                    points |= {
                        b.onset for a, b in pairwise(notes) if a.onset < b.onset <= a.end and _leap(a, b) >= WIDE_LEAP
                    }
                for _, notes in lines:
                    points |= set(cut(notes, phrase.start, phrase.end, pitched, sorted(points)))
            edges = [phrase.start, *sorted(points), phrase.end]
            for a, b in pairwise(edges):
                profiles = {k: profile(part, b, seconds) for k, notes in lines if (part := notes_in(notes, a, b))}
                if profiles:
                    length = max(1, round((b - a) / quarter_bar(a)))
                    spans.append(Span(len(spans), index, number, a, b, length, profiles))
    return spans


def make_cells(material: Material, spans: Sequence[Span], quarter_bar: Callable[[int], int]) -> list[Cell]:
    """Each phrase cut at all its spans' edges. Touches of the last layer are moments, and belong to no cell."""
    cells: list[Cell] = []
    lasting = [span for span in spans if material.strands[span.strand].layer != "finish"]
    for number, phrase in enumerate(material.plan):
        inside = [span for span in lasting if span.phrase == number]
        edges = sorted({phrase.start, phrase.end, *(s.start for s in inside)})
        for a, b in pairwise(edges):
            here = tuple(s.index for s in inside if s.start < b and s.end > a)
            length = max(1, round((b - a) / quarter_bar(a)))
            cells.append(Cell(len(cells), number, a, b, length, here))
    return cells
