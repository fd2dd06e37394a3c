"""Everything that hangs on a written note in MusicXML: ties, slurs, tuplet brackets, ornaments, articulations."""

from __future__ import annotations

from lxml import etree

from autoorch.score.idiom import ARPEGGIO, ARTICULATIONS, ORNAMENTS, SINGLE_TREMOLO, TECHNICAL, is_single_tremolo
from autoorch.score.model import Event, Head
from autoorch.score.tremolo import START, is_pair
from autoorch.write.elements import Element, Sub


def add_notations(note: Element, event: Event, head: Head | None, first: bool) -> None:
    """Add the notations of one note; what belongs to the whole chord goes to its first note."""
    own = etree.Element("notations")
    if head and head.tie_stop:
        Sub(own, "tied", type="stop")
    if head and head.tie_start:
        Sub(own, "tied", type="start")
    if first:
        for number in event.slur_stops:
            Sub(own, "slur", type="stop", number=str(number))
        for number in event.slur_starts:
            Sub(own, "slur", type="start", number=str(number))
        if event.tuplet_start:
            Sub(own, "tuplet", type="start", number="1", bracket="yes" if _bracket(event) else "no")
        if event.tuplet_stop:
            Sub(own, "tuplet", type="stop", number="1")
        _signs(own, event.marks)
    if ARPEGGIO in event.marks and head:
        Sub(own, "arpeggiate")
    if len(own):
        note.append(own)


def _bracket(event: Event) -> bool:
    return not (event.beams and event.beams[0] == "begin")


def _signs(own: Element, marks: tuple[str, ...]) -> None:
    ornaments = [mark for mark in marks if mark in ORNAMENTS or is_single_tremolo(mark) or is_pair(mark)]
    if ornaments:
        row = Sub(own, "ornaments")
        for mark in ornaments:
            if is_pair(mark):
                kind = "start" if mark.startswith(START) else "stop"
                Sub(row, "tremolo", type=kind).text = mark.rpartition("-")[2]
            elif is_single_tremolo(mark):
                Sub(row, "tremolo", type="single").text = mark[len(SINGLE_TREMOLO) :]
            else:
                Sub(row, mark)
    for group, names in (("technical", TECHNICAL), ("articulations", ARTICULATIONS)):
        kept = [mark for mark in marks if mark in names]
        if kept:
            row = Sub(own, group)
            for mark in kept:
                Sub(row, mark, **({"type": "up"} if mark == "strong-accent" else {}))
    if "fermata" in marks:
        Sub(own, "fermata", type="upright")
