"""Vertical layout: low intervals, accompaniment above the tune or under the bass, empty octaves, families out of their order."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from itertools import combinations
from typing import Any

from autoorch.problem.between import FILLING
from autoorch.problem.data import Cell, Option, ProblemData, Span
from autoorch.problem.profile import Profile
from autoorch.problem.terms import Cost, Form, Limit, Literal, both
from autoorch.rules.texture import sounding
from autoorch.rules.unary import alone

NAME = "spacing"
CHORDAL = ("inner", "rhythm")
_Line = tuple[int, int]


def limits(data: ProblemData) -> Iterator[Limit]:
    """None: even low intervals are a matter of degree."""
    return iter(())


def overlaps(first: Profile, second: Profile) -> dict[tuple[int, int], int]:
    """(pitch of first, pitch of second) -> ticks they sound together."""
    found: dict[tuple[int, int], int] = defaultdict(int)
    start = 0
    notes = second.notes
    for note in first.notes:
        while start < len(notes) and notes[start].end <= note.onset:
            start += 1
        for other in notes[start:]:
            if other.onset >= note.end:
                break
            ticks = min(note.end, other.end) - max(note.onset, other.onset)
            if ticks > 0:
                found[note.pitch.midi, other.pitch.midi] += ticks
    return dict(found)


def costs(data: ProblemData) -> Iterator[Cost]:
    """Pairs of lines that sound together, in the octaves they might take, span against span."""
    table = data.tables.rule(NAME)
    limits_by_interval = {int(k): v for k, v in table["lowest"].items()}
    done: set[tuple[_Line, _Line]] = set()
    for span in data.spans:
        chordal = data.is_assigned(span.strand) and data.strands[span.strand].role in CHORDAL
        if chordal and data.plan[span.phrase].at(span.start).dynamic in table["clear"]:
            yield from _upside_down(data, table["weights"]["upside_down"], span)
    for cell in data.cells:
        lines = [
            (index, k)
            for index in cell.spans
            for k in data.spans[index].lines
            if not data.strands[data.spans[index].strand].lines[k].reduced
        ]
        for a, b in combinations(lines, 2):
            if (a, b) in done:
                continue
            done.add((a, b))
            yield from _low(data, table, limits_by_interval, a, b)
        yield from _outside(data, table, cell)
        yield from _order(data, table, cell)
        if data.plan[cell.phrase].at(cell.start).dynamic in table["loud"]:
            yield from _holes(data, table, cell)


def _octaves(data: ProblemData, line: _Line) -> list[int]:
    return sorted({o.octave for o in data.by_line.get(line, ())})


def _upside_down(data: ProblemData, weight: int, span: Span) -> Iterator[Cost]:
    """A line of a chord is moved past the next one of it."""
    own = [k for k in span.lines if not data.strands[span.strand].lines[k].reduced]
    for option in data.by_span[span.index]:
        if not option.octave or len(option.lines) > 1 or option.lines[0] not in own:
            continue
        side = 1 if option.octave > 0 else -1
        place = own.index(option.lines[0]) - side
        if 0 <= place < len(own) and side * (data.mean_pitch(option) - span.lines[own[place]].mean) > 0:
            yield alone(NAME, data, option, weight * data.busy(option), "a chord stands upside down")


def _low(data: ProblemData, table: Mapping[str, Any], lowest: Mapping[int, int], a: _Line, b: _Line) -> Iterator[Cost]:
    """Low intervals between two lines, for each pair of octaves."""
    first, second = data.spans[a[0]], data.spans[b[0]]
    one, two = first.lines[a[1]], second.lines[b[1]]
    floor = max(lowest.values())
    if min(one.low, two.low) - 24 > floor:
        return
    shared = overlaps(one, two)
    if not shared:
        return
    for i in _octaves(data, a):
        for j in _octaves(data, b):
            faulty = 0
            for (p, q), ticks in shared.items():
                low, high = sorted((p + 12 * i, q + 12 * j))
                if low < lowest.get(high - low, 0):
                    faulty += ticks
            weight = round(table["weights"]["low_interval"] * first.length * faulty / (first.end - first.start))
            if not weight:
                continue
            x, y = data.sounding(*a, octave=i), data.sounding(*b, octave=j)
            if x is not None and y is not None:
                yield both(NAME, max(first.phrase, second.phrase), weight, x, y, "a low interval is muddy")


def _outside(data: ProblemData, table: Mapping[str, Any], cell: Cell) -> Iterator[Cost]:
    """Accompaniment above the tune where the tune is not doubled higher; inner parts below the bass likewise."""
    spans = [data.spans[index] for index in cell.spans]
    tune = next((s for s in spans if data.strands[s.strand].role == "melody"), None)
    bass = next((s for s in spans if data.strands[s.strand].role in ("bass", "pedal")), None)
    weights, dynamic = table["weights"], data.plan[cell.phrase].at(cell.start).dynamic
    for span in spans:
        if data.strands[span.strand].role not in ("inner", "figure", "rhythm", "counterline"):
            continue
        for line in span.lines:
            length = -(-cell.length * sounding(cell, [span.lines[line]]) // (cell.end - cell.start))
            for octave in _octaves(data, (span.index, line)):
                literal = data.sounding(span.index, line, octave)
                if literal is None or not length:
                    continue
                mean = span.lines[line].mean + 12 * octave
                if tune is not None:
                    top = tune.lines[min(tune.lines)].mean
                    if mean > top + 2 and octave > 0:
                        yield from _unless(
                            data,
                            cell,
                            tune.index,
                            min(tune.lines),
                            octave,
                            literal,
                            weights["cover"] * length,
                            "accompaniment above the tune",
                        )
                    elif octave != 0 and abs(mean - top) <= 2:
                        home = data.sounding(span.index, line, 0) if dynamic in table["loud"] else None
                        terms = ((literal, 1),) if home is None else ((literal, 1), (home, -1))
                        what = "moved onto the tune's own pitches"
                        yield Cost(NAME, cell.phrase, weights["unison"] * length, (Form(terms),), what)
                if bass is not None and octave < 0:
                    low = bass.lines[min(bass.lines)].mean
                    if mean < low:
                        yield from _unless(
                            data,
                            cell,
                            bass.index,
                            min(bass.lines),
                            octave,
                            literal,
                            weights["undercut"] * length,
                            "an inner part below the bass",
                        )


def _order(data: ProblemData, table: Mapping[str, Any], cell: Cell) -> Iterator[Cost]:
    """In one accompaniment who stands higher in a family's score sounds higher: charged by kinds passed and steps of pitch."""
    order, weight = table["order"], table["weights"]["crossed"] * cell.length
    options = [option for index in cell.spans for option in data.by_span[index] if data.role(option) in FILLING]
    for kinds in order["families"]:
        rank = {name: place for place, kind in enumerate(kinds) for name in kind}
        named = ((rank.get(data.instrument(option).id), option) for option in options)
        own = [(at, option) for at, option in named if at is not None]
        for place in sorted({at for at, _ in own})[1:]:
            for span in sorted({o.span for _, o in own}):
                above = [o for at, o in own if at < place and o.span == span]
                below = [o for at, o in own if at >= place and o.span == span]
                for low, high in crossings(data, above, below) if above and below else ():
                    yield both(NAME, cell.phrase, weight, low, high, "a family out of its order")


def crossings(
    data: ProblemData, above: Collection[Option], below: Collection[Option]
) -> Iterator[tuple[Literal, Literal]]:
    """For each step of pitch: somebody of those who belong above lies below it, and somebody of the others above it."""
    step = data.tables.rule(NAME)["order"]["step"]
    pitch = {option.index: data.mean_pitch(option) for option in (*above, *below)}
    for line in range(min(pitch[o.index] for o in above) // step * step, max(pitch[o.index] for o in below), step):
        low = [o.index for o in above if pitch[o.index] <= line]
        high = [o.index for o in below if pitch[o.index] > line]
        if low and high:
            yield data.groups.any(low), data.groups.any(high)


def _unless(
    data: ProblemData, cell: Cell, span: int, line: int, octave: int, literal: int, weight: int, what: str
) -> Iterator[Cost]:
    """A cost for `literal` unless the outer line is doubled at `octave` too."""
    outer = data.sounding(span, line, octave)
    terms = ((literal, 1),) if outer is None else ((literal, 1), (outer, -1))
    yield Cost(NAME, cell.phrase, weight, (Form(terms),), what)


def _holes(data: ProblemData, table: Mapping[str, Any], cell: Cell) -> Iterator[Cost]:
    """Octaves between bass and tune with nothing in them, where the sketch has something."""
    spans = [data.spans[index] for index in cell.spans]
    tune = next((s for s in spans if data.strands[s.strand].role == "melody"), None)
    bass = next((s for s in spans if data.strands[s.strand].role in ("bass", "pedal")), None)
    if tune is None or bass is None:
        return
    low, high = bass.lines[min(bass.lines)].mean, tune.lines[min(tune.lines)].mean
    bins: dict[int, list[int]] = defaultdict(list)
    filled: set[int] = set()
    for span in spans:
        if data.is_assigned(span.strand):
            filled.update(profile.mean // 12 for profile in span.lines.values())
        for option in data.by_span[span.index]:
            bins[_bin(data, option)].append(option.index)
    for octave in sorted(filled.intersection(range(low // 12 + 1, high // 12))):
        terms = tuple((index, -1) for index in bins.get(octave, ()))
        yield Cost(
            NAME,
            cell.phrase,
            table["weights"]["hole"] * cell.length,
            (Form(terms, 1),),
            "an empty octave between bass and tune",
        )


def _bin(data: ProblemData, option: Option) -> int:
    return data.mean_pitch(option) // 12
