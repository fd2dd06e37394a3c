"""Bars of a score read back from the elements that were written for them: for bars that come from another draft's file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from lxml import etree

from autoorch.pitch import Pitch
from autoorch.score.idiom import ARPEGGIO, SINGLE_TREMOLO
from autoorch.score.model import Direction, Event, Head, Measure, Part, Score
from autoorch.score.transpose import interval_of
from autoorch.score.tremolo import START, STOP
from autoorch.sketch.model import Bar
from autoorch.write.elements import Element
from autoorch.write.musicxml import CLEFS

_CLEF_NAMES = {written: name for name, written in CLEFS.items()}
_SIGNS = ("ornaments", "technical", "articulations")


def with_written(score: Score, bars: Iterable[tuple[str, int, str]]) -> Score:
    """The score with some of its bars as they are written: (part id, bar from 0, `<measure>` element) each.

    The file must be one of this score's own sketch and line-up: metres, keys and grid are taken from the score.
    """
    wanted = {(part, bar): text for part, bar, text in bars}
    parts = []
    for part in score.parts:
        measures = list(part.measures)
        for bar, measure in zip(score.bars, part.measures, strict=True):
            text = wanted.get((part.id, bar.index))
            if text is not None:
                measures[bar.index] = read_bar(etree.fromstring(text), score, part, bar, measure)
        parts.append(replace(part, measures=tuple(measures)))
    return replace(score, parts=tuple(parts))


def read_bar(root: Element, score: Score, part: Part, bar: Bar, like: Measure) -> Measure:
    """One bar of a part; `like` is the bar in whose place it comes, with the same metre, key and marks for everybody."""
    interval = interval_of(part, like, score.concert)
    sources = {
        (event.onset, head.sounding.midi): head.source
        for voice in like.voices
        for event in voice
        for head in event.heads
    }
    voices: list[list[Event]] = [[]]
    staves: list[int] = [1]
    directions: list[Direction] = [d for d in like.directions if d.everybody]
    everybody = {(d.onset, d.kind, d.value) for d in directions}
    at = 0
    for element in root:
        if element.tag == "backup":
            voices.append([])
            staves.append(1)
            at = 0
        elif element.tag == "direction":
            mark = _direction(element, at)
            if mark.kind != "tempo" and (mark.onset, mark.kind, mark.value) not in everybody:
                directions.append(mark)
        elif element.tag == "note":
            staves[-1] = int(element.findtext("staff") or 1)
            if element.find("chord") is not None:
                before = voices[-1][-1]
                head = _head(element, interval, sources, before.onset)
                voices[-1][-1] = replace(before, heads=(*before.heads, head))
                continue
            event = _event(element, at)
            if element.find("rest") is None:
                event = replace(event, heads=(_head(element, interval, sources, at),))
            voices[-1].append(event)
            at += event.duration
    clefs = tuple(_clef(clef) for attributes in root.iterfind("attributes") for clef in attributes.iterfind("clef"))
    directions.sort(key=lambda d: (d.onset, not d.everybody))
    return replace(
        like,
        voices=tuple(tuple(voice) for voice in voices),
        staff_of=tuple(staves),
        directions=tuple(directions),
        clefs=clefs,
    )


def _event(note: Element, onset: int) -> Event:
    """The event that a note or rest begins, without its heads."""
    notations = note.find("notations")
    own = notations if notations is not None else etree.Element("notations")
    ratio = note.find("time-modification")
    grace = note.find("grace")
    kind = note.findtext("type") or ""
    tuplet = None
    if ratio is not None:
        unit = ratio.findtext("normal-type") or kind
        tuplet = _int(ratio, "actual-notes"), _int(ratio, "normal-notes"), unit
    ends = {mark.get("type") for mark in own.iterfind("tuplet")}
    slash = "" if grace is None else "acciaccatura" if grace.get("slash") == "yes" else "appoggiatura"
    slurs = [(slur.get("type"), int(slur.get("number", "1"))) for slur in own.iterfind("slur")]
    return Event(
        onset, int(note.findtext("duration") or 0), (), kind, len(note.findall("dot")), tuplet,
        "start" in ends, "stop" in ends, slash, tuple(sorted(_marks(own))),
        tuple(number for end, number in slurs if end == "start"),
        tuple(number for end, number in slurs if end == "stop"),
        tuple(beam.text or "" for beam in note.iterfind("beam")), note.findtext("lyric/text") or "",
    )  # fmt: skip


def _head(note: Element, interval: tuple[int, int], sources: dict[tuple[int, int], str], onset: int) -> Head:
    prefix, place = ("", note.find("pitch")) if note.find("pitch") is not None else ("display-", note.find("unpitched"))
    assert place is not None
    written = Pitch(
        place.findtext(f"{prefix}step") or "C", int(place.findtext("alter") or 0), _int(place, f"{prefix}octave")
    )
    sounding = written.transposed(-interval[0], -interval[1])
    ties = {tied.get("type") for tied in note.iterfind("notations/tied")}
    return Head(sounding, written, sources.get((onset, sounding.midi), ""), "start" in ties, "stop" in ties)


def _marks(notations: Element) -> Iterator[str]:
    if notations.find("fermata") is not None:
        yield "fermata"
    if notations.find("arpeggiate") is not None:
        yield ARPEGGIO
    for row in (row for name in _SIGNS for row in notations.iterfind(name)):
        for sign in row:
            if sign.tag == "tremolo":
                yield {"start": START, "stop": STOP}.get(sign.get("type", ""), SINGLE_TREMOLO) + (sign.text or "")
            else:
                yield str(sign.tag)


def _direction(element: Element, at: int) -> Direction:
    onset = at + int(element.findtext("offset") or 0)
    staff = int(element.findtext("staff") or 1)
    kind = element[0][0]
    if element.find("direction-type/metronome") is not None or kind.get("font-weight") == "bold":
        return Direction("tempo", onset, "", kind.text or "", staff)
    if kind.tag == "dynamics":
        return Direction("dynamic", onset, kind[0].text or str(kind[0].tag), staff=staff)
    if kind.tag == "wedge":
        return Direction("wedge", onset, kind.get("type", ""), staff=staff)
    return Direction(str(kind.tag), onset, kind.text or "", staff=staff)


def _clef(clef: Element) -> tuple[int, str]:
    written = (
        clef.findtext("sign") or "",
        int(clef.findtext("line") or 0),
        int(clef.findtext("clef-octave-change") or 0),
    )
    return int(clef.get("number", "1")), _CLEF_NAMES[written]


def _int(element: Element, tag: str) -> int:
    return int(element.findtext(tag) or 0)
