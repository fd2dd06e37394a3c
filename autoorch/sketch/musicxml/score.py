"""A MusicXML score (2.0 to 4.0, by parts or by measures) as a sketch."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from itertools import accumulate
from math import lcm

from lxml import etree

from autoorch.errors import SketchError
from autoorch.sketch.guard import Limits, elements, plain
from autoorch.sketch.model import Mark, Sketch, Slur, Staff
from autoorch.sketch.musicxml.attributes import too_many
from autoorch.sketch.musicxml.bars import bar_lengths, make_bars, uneven
from autoorch.sketch.musicxml.count import Count
from autoorch.sketch.musicxml.head import HEAD_TAGS, Head
from autoorch.sketch.musicxml.joined import crossed_ties, slurs, untied, voice_numbers
from autoorch.sketch.musicxml.part import Part
from autoorch.sketch.musicxml.written import Placed, Written
from autoorch.sketch.number import Loose, numbered
from autoorch.sketch.staves import hint

_FINEST_MARK = 16
"""Marks between the notes keep their exact place down to a 64th note; finer offsets only place ink."""


def read_musicxml(data: bytes, file: str, limits: Limits, source: str = "musicxml") -> Sketch:
    """The sketch in the bytes of an uncompressed MusicXML file.

    Raises:
        SketchError: where the file is no score, broken, without notes or beyond the limits.
    """
    head, count = Head(), Count()
    parts: dict[str, Part] = {}
    root = current = ""
    bars = 0
    for event, element in elements(data, file, limits, ("part", "measure", *HEAD_TAGS)):
        tag = str(element.tag)
        if event == "start":
            root = root or tag
            if tag == "part" and root == "score-partwise":
                current = element.get("id") or ""
                if current in parts:
                    raise SketchError(f'has the part "{plain(current, 40)}" twice; export it anew', file)
                parts[current] = Part(file, count, limits)
        elif tag in HEAD_TAGS:
            head.read(element, limits.text)
        elif tag == "measure":
            if root == "score-partwise":
                if current not in parts:
                    raise SketchError("has bars outside its parts; export it anew", file)
                _measure(parts[current], element, element)
            else:
                for inner in element.iterfind("part"):
                    part = parts.setdefault(inner.get("id") or "", Part(file, count, limits))
                    part.skip(bars)
                    _measure(part, inner, element)
                bars += 1
            element.clear()
        if max(len(head.names), len(parts)) > limits.staves:
            raise SketchError(too_many(max(len(head.names), len(parts)), limits), file)
    return _sketch(parts, head, count, file, limits, source)


def _measure(part: Part, holder: etree._Element, measure: etree._Element) -> None:
    part.measure(holder, measure.get("number") or "", measure.get("implicit") == "yes")


def _sketch(parts_by_id: dict[str, Part], head: Head, count: Count, file: str, limits: Limits, source: str) -> Sketch:
    listed = [name for name in head.names if name in parts_by_id]
    order = listed + [name for name in parts_by_id if name not in head.names]
    parts = [parts_by_id[name] for name in order]
    staves: list[Staff] = []
    for name, part in zip(order, parts, strict=True):
        title = head.names.get(name, "")
        staves += [Staff(len(staves) + k, title, hint(title)) for k in range(part.attributes.staves)]
    if len(staves) > limits.staves:
        raise SketchError(too_many(len(staves), limits), file)
    if not any(part.notes for part in parts):
        raise SketchError("has no notes with a pitch", file)
    if not any(note.length for part in parts for note in part.notes):
        raise SketchError("has grace notes and no others", file)
    for part in parts:
        part.directions.finish()
    quarters = bar_lengths(parts)
    ticks = _ticks(parts, quarters, file, limits)
    lengths = [int(length * ticks) for length in quarters]
    starts = list(accumulate(lengths, initial=0))
    bars = make_bars(parts, lengths, ticks, count)

    def tick(bar: int, at: Fraction) -> int:
        return starts[bar] + (at.numerator * ticks) // at.denominator

    def span(head: Written) -> tuple[int, int]:
        return tick(head.bar, head.at), (head.length.numerator * ticks) // head.length.denominator

    loose: list[Loose] = []
    joined: list[tuple[int, int]] = []
    marks: list[Mark] = []
    crossed: set[int] = set()
    first_staff = 0
    for part in parts:
        crossed |= set(crossed_ties(part.notes, span))
        notes, chain_of = untied(part.notes, span, voice_numbers(part.notes), first_staff, count)
        place = {id(head): len(loose) + chain_of[index] for index, head in enumerate(part.notes)}
        pairs = slurs(part.slurs, lambda head: tick(head.bar, head.at), count)
        joined += [(place[id(first)], place[id(last)]) for first, last in pairs]
        loose += notes
        marks += [_mark(placed, starts, ticks, first_staff) for placed in part.directions.marks]
        first_staff += part.attributes.staves
    notes_in_order, ids = numbered(loose)
    order_of = {note.id: index for index, note in enumerate(notes_in_order)}
    ends = sorted({(ids[first], ids[last]) for first, last in joined}, key=lambda pair: [order_of[end] for end in pair])
    return Sketch(
        ticks,
        tuple(staves),
        bars,
        notes_in_order,
        tuple(Slur(first, last) for first, last in ends if first != last),
        _in_order([*(Mark("text", 0, 0, -1, text) for text in head.other_texts()), *marks]),
        head.title,
        head.composer,
        source,
        count.lost(),
        _notices(parts, order, head, uneven(bars, ticks, _implicit(parts, len(bars)))),
        queries=tuple(f"bar {bars[index].number}: a tie leads to another pitch" for index in sorted(crossed)),
    )


def _ticks(parts: Iterable[Part], quarters: Iterable[Fraction], file: str, limits: Limits) -> int:
    """Ticks a quarter: the least common multiple of all denominators of places and lengths."""
    denominators = {length.denominator for length in quarters}
    for part in parts:
        for note in part.notes:
            denominators.add(note.at.denominator)
            denominators.add(note.length.denominator)
        places = (at.denominator for mark in part.directions.marks for at in (mark.at, mark.end_at))
        denominators.update(place for place in places if _FINEST_MARK % place == 0)
    ticks = 1
    for denominator in sorted(denominators):
        ticks = lcm(ticks, denominator)
        if ticks > limits.ticks:
            raise SketchError("its note values have no common unit; check its divisions or export it anew", file)
    return ticks


def _mark(placed: Placed, starts: list[int], ticks: int, first_staff: int) -> Mark:
    """The mark in ticks, at the nearest one, inside the piece."""
    onset = min(starts[placed.bar] + round(placed.at * ticks), starts[-1])
    end = onset if placed.end_bar < 0 else min(starts[placed.end_bar] + round(placed.end_at * ticks), starts[-1])
    staff = -1 if placed.staff < 0 else first_staff + placed.staff
    return Mark(placed.kind, onset, max(onset, end), staff, placed.value, placed.text)


def _in_order(marks: Iterable[Mark]) -> tuple[Mark, ...]:
    """By place; what several parts say in the same words to everybody stands once, a tempo with words before one without."""
    found = dict.fromkeys(sorted(marks, key=lambda mark: mark.onset))
    worded = {(mark.onset, mark.value) for mark in found if mark.kind == "tempo" and mark.text}
    return tuple(m for m in found if m.kind != "tempo" or m.text or (m.onset, m.value) not in worded)


def _implicit(parts: Iterable[Part], bars: int) -> list[bool]:
    return [any(index < len(part.implicit) and part.implicit[index] for part in parts) for index in range(bars)]


def _notices(parts: list[Part], order: list[str], head: Head, bars_line: str) -> tuple[str, ...]:
    found = [bars_line] if bars_line else []
    if not any(part.attributes.metres for part in parts):
        found.append("no metre given: common time assumed")
    if any(part.directions.jumps for part in parts):
        found.append("jumps (D.C., D.S., segno, coda) are kept as written, not played out")
    unlisted = sum(name not in head.names for name in order)
    if unlisted:
        found.append(f"parts that the file does not list: {unlisted}; read all the same")
    if len({len(part.lengths) for part in parts}) > 1:
        found.append("the parts have different numbers of bars; the shorter ones rest at the end")
    return tuple(found)
