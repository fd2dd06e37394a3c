"""A score as MusicXML 4.0, streamed bar by bar.

It keeps to what every program reads alike: one player a part, voice numbers unique in a part (1, 2 on the first staff;
5, 6 on the second), all rests and accidentals written, stems only where two voices share a staff, no dates, no random ids.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import IO

from lxml import etree

from autoorch.score.model import Direction, Event, Head, Measure, Part, Score
from autoorch.score.transpose import interval_of
from autoorch.sketch.model import Bar
from autoorch.write.accidentals import ACCIDENTAL_NAMES, Accidentals
from autoorch.write.credits import credits
from autoorch.write.directions import add_direction
from autoorch.write.elements import Element, Sub, text
from autoorch.write.front import instrumentation
from autoorch.write.notations import add_notations
from autoorch.write.pagesize import page_size
from autoorch.write.partlist import instruments_of, part_list

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)
CLEFS = {
    "treble": ("G", 2, 0), "bass": ("F", 4, 0), "alto": ("C", 3, 0), "tenor": ("C", 4, 0), "treble-8": ("G", 2, -1),
    "percussion": ("percussion", 0, 0),
}  # fmt: skip
"""Clef name -> sign, line, octaves."""
_STYLES = {"double": "light-light", "final": "light-heavy", "dashed": "dashed"}
VOICES_A_STAFF = 4


def write_musicxml(score: Score, file: IO[bytes]) -> None:
    """Write the score, transposed or at concert pitch as it is."""
    with etree.xmlfile(file, encoding="UTF-8") as page:
        page.write_declaration()
        page.write_doctype(DOCTYPE)
        with page.element("score-partwise", version="4.0"):
            page.write("\n")
            for element in _head(score):
                page.write(element, pretty_print=True)
            for part in score.parts:
                with page.element("part", id=part.id):
                    page.write("\n")
                    for measure in _Part(score, part).measures():
                        page.write(measure, pretty_print=True)
                page.write("\n")


def _head(score: Score) -> Iterable[Element]:
    if score.title:
        work = etree.Element("work")
        text(work, "work-title", score.title)
        yield work
    identification = etree.Element("identification")
    if score.composer:
        text(identification, "creator", score.composer, type="composer")
    encoding = Sub(identification, "encoding")
    text(encoding, "software", "autoorch")
    for name in ("accidental", "beam"):
        Sub(encoding, "supports", element=name, type="yes")
    Sub(encoding, "supports", element="stem", type="no")
    if not score.heading:
        field = text(Sub(identification, "miscellaneous"), "miscellaneous-field", "; ".join(instrumentation(score)))
        field.set("name", "instrumentation")
    yield identification
    defaults = etree.Element("defaults")
    size = page_size(score)
    scaling = Sub(defaults, "scaling")
    text(scaling, "millimeters", f"{size.staff:.4f}")
    text(scaling, "tenths", 40)
    if score.concert:
        Sub(defaults, "concert-score")
    layout = Sub(defaults, "page-layout")
    text(layout, "page-height", round(size.tenths(size.height)))
    text(layout, "page-width", round(size.tenths(size.width)))
    margins = Sub(layout, "page-margins", type="both")
    for side in ("left", "right", "top", "bottom"):
        text(margins, f"{side}-margin", round(size.tenths(size.margin)))
    yield defaults
    yield from credits(score, size)
    yield part_list(score)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where an event stands: number of its voice in the part, its staff, which way its stems go ("" for either)."""

    voice: int
    staff: int
    stem: str


class _Part:
    """The bars of one part."""

    def __init__(self, score: Score, part: Part) -> None:
        self.score, self.part = score, part
        self.hands = instruments_of(part)
        self.house = score.house
        self.unpitched = part.player.instrument.kind == "unpitched"
        self.accidentals = Accidentals()

    def measures(self) -> Iterable[Element]:
        before: tuple[Bar, Measure] | None = None
        last = len(self.score.bars) - 1
        for bar, measure in zip(self.score.bars, self.part.measures, strict=True):
            found = etree.Element("measure", number=bar.number)
            if bar.number == "0" or bar.number.startswith("X"):
                found.set("implicit", "yes")
            if measure.turn:
                Sub(found, "print", **{"new-page": "yes"})
            self._left(found, bar)
            self._attributes(found, bar, measure, before)
            self._music(found, bar, measure)
            self._right(found, bar, bar.index == last)
            before = bar, measure
            yield found

    def _attributes(self, found: Element, bar: Bar, measure: Measure, before: tuple[Bar, Measure] | None) -> None:
        key = before is None or before[0].fifths != bar.fifths or before[1].fifths != measure.fifths
        time = before is None or before[0].metre != bar.metre
        interval = interval_of(self.part, measure, self.score.concert)
        moved = (0, 0) if before is None else interval_of(self.part, before[1], self.score.concert)
        if not (key or time or measure.clefs or interval != moved):
            return
        own = Sub(found, "attributes")
        if before is None:
            text(own, "divisions", self.score.ticks)
        if key:
            signature = Sub(own, "key")
            text(signature, "fifths", measure.fifths)
            if bar.mode:
                text(signature, "mode", bar.mode)
        if time:
            metre = Sub(own, "time")
            text(metre, "beats", bar.metre[0])
            text(metre, "beat-type", bar.metre[1])
        if before is None and self.part.staves > 1:
            text(own, "staves", self.part.staves)
        for staff, name in measure.clefs:
            sign, line, octaves = CLEFS[name]
            clef = Sub(own, "clef", **({"number": str(staff)} if self.part.staves > 1 else {}))
            text(clef, "sign", sign)
            if line:
                text(clef, "line", line)
            if octaves:
                text(clef, "clef-octave-change", octaves)
        if before is None and self.unpitched:
            text(Sub(own, "staff-details"), "staff-lines", 1)
        if interval != moved:
            self._transpose(own, interval)

    def _transpose(self, own: Element, interval: tuple[int, int]) -> None:
        letters, semitones = interval
        octaves = int(-letters / 7)
        transpose = Sub(own, "transpose")
        text(transpose, "diatonic", -letters - 7 * octaves)
        text(transpose, "chromatic", -semitones - 12 * octaves)
        if octaves:
            text(transpose, "octave-change", octaves)

    def _left(self, found: Element, bar: Bar) -> None:
        starts = bar.endings and (bar.index == 0 or self.score.bars[bar.index - 1].endings != bar.endings)
        if not bar.repeat_start and not starts:
            return
        line = Sub(found, "barline", location="left")
        if bar.repeat_start:
            text(line, "bar-style", "heavy-light")
        if starts:
            Sub(line, "ending", number=_numbers(bar), type="start")
        if bar.repeat_start:
            Sub(line, "repeat", direction="forward")

    def _right(self, found: Element, bar: Bar, last: bool) -> None:
        after = None if last else self.score.bars[bar.index + 1]
        stops = bool(bar.endings) and (after is None or after.endings != bar.endings)
        style = "light-heavy" if bar.repeat_end else _STYLES.get(bar.barline, "light-heavy" if last else "")
        if not (style or stops or bar.fermata):
            return
        line = Sub(found, "barline", location="right")
        if style:
            text(line, "bar-style", style)
        if bar.fermata:
            Sub(line, "fermata", type="upright")
        if stops:
            Sub(line, "ending", number=_numbers(bar), type="stop" if bar.repeat_end else "discontinue")
        if bar.repeat_end:
            times = {"times": str(bar.repeat_end)} if bar.repeat_end > 2 else {}
            Sub(line, "repeat", direction="backward", **times)

    def _music(self, found: Element, bar: Bar, measure: Measure) -> None:
        signs = {} if self.unpitched else self.accidentals.of(measure)
        waiting = list(measure.directions)
        seen: dict[int, int] = {}
        for index, (voice, staff) in enumerate(zip(measure.voices, measure.staff_of, strict=True)):
            if index:
                text(Sub(found, "backup"), "duration", bar.length)
            rank = seen[staff] = seen.get(staff, -1) + 1
            stem = ("up", "down")[rank] if measure.staff_of.count(staff) > 1 else ""
            where = _Place((staff - 1) * VOICES_A_STAFF + rank + 1, staff, stem)
            for place, event in enumerate(voice):
                if index == 0:
                    waiting = self._due(found, bar, waiting, event)
                if measure.rests and index == place == 0:  # behind the directions: verovio reads none after it
                    text(Sub(Sub(found, "attributes"), "measure-style"), "multiple-rest", measure.rests)
                own = [signs.get((index, place, k), "") for k in range(len(event.heads))]
                self._event(found, event, where, own, measure)
            if index == 0:
                for direction in waiting:
                    add_direction(found, self.part, bar, direction, 0, self.house)

    def _due(self, found: Element, bar: Bar, waiting: list[Direction], event: Event) -> list[Direction]:
        """Write the directions that stand at or inside an event of the first voice; the rest is returned."""
        end = event.onset + max(event.duration, 1)
        while waiting and waiting[0].onset < end:
            add_direction(found, self.part, bar, waiting[0], waiting[0].onset - event.onset, self.house)
            waiting = waiting[1:]
        return waiting

    def _event(self, found: Element, event: Event, place: _Place, signs: list[str], measure: Measure) -> None:
        for k, head in enumerate(event.heads or (None,)):
            note = Sub(found, "note")
            self._played(note, event, head, k, measure)
            text(note, "voice", place.voice)
            self._drawn(note, event, head, k, place, signs[k] if head else "")

    def _played(self, note: Element, event: Event, head: Head | None, k: int, measure: Measure) -> None:
        """What sounds, for how long, on which instrument; `k` counts the notes of a chord."""
        if event.cue:
            Sub(note, "cue")
        if event.grace:
            Sub(note, "grace", **({"slash": "yes"} if event.grace == "acciaccatura" else {}))
        if k:
            Sub(note, "chord")
        self._pitch(note, event, head)
        if not event.grace:
            text(note, "duration", event.duration)
        if head and not event.cue:
            for kind, tied in (("stop", head.tie_stop), ("start", head.tie_start)):
                if tied:
                    Sub(note, "tie", type=kind)
            if self.unpitched or len(self.hands) > 1:
                own = self.hands.index(measure.held or self.part.player.instrument)
                Sub(note, "instrument", id=f"{self.part.id}-I{own + 1}")

    def _drawn(self, note: Element, event: Event, head: Head | None, k: int, place: _Place, sign: str) -> None:
        """What is seen; beams and lyrics belong to the first note of a chord."""
        if event.value:
            text(note, "type", event.value, **({"size": "cue"} if event.cue else {}))
        for _ in range(event.dots):
            Sub(note, "dot")
        if sign:
            accidental = text(note, "accidental", ACCIDENTAL_NAMES[int(sign.rstrip("?"))])
            if sign.endswith("?"):
                accidental.set("cautionary", "yes")
        if event.tuplet:
            self._time_modification(note, event)
        if head and place.stem:
            text(note, "stem", place.stem)
        if self.part.staves > 1:
            text(note, "staff", place.staff)
        for number, beam in enumerate(() if k else event.beams, start=1):
            text(note, "beam", beam, number=str(number))
        add_notations(note, event, head, first=not k)
        if event.lyric and not k:
            lyric = Sub(note, "lyric", number="1")
            text(lyric, "syllabic", "single")
            text(lyric, "text", event.lyric)

    def _pitch(self, note: Element, event: Event, head: Head | None) -> None:
        if head is None:
            rest = Sub(note, "rest")
            if not event.value:
                rest.set("measure", "yes")
        elif self.unpitched:
            own = Sub(note, "unpitched")
            text(own, "display-step", "E")
            text(own, "display-octave", 4)
        else:
            own = Sub(note, "pitch")
            text(own, "step", head.written.step)
            if head.written.alter:
                text(own, "alter", head.written.alter)
            text(own, "octave", head.written.octave)

    def _time_modification(self, note: Element, event: Event) -> None:
        assert event.tuplet
        actual, normal, kind = event.tuplet
        own = Sub(note, "time-modification")
        text(own, "actual-notes", actual)
        text(own, "normal-notes", normal)
        if kind != event.value or event.dots:
            text(own, "normal-type", kind)


def _numbers(bar: Bar) -> str:
    return ",".join(str(number) for number in bar.endings)
