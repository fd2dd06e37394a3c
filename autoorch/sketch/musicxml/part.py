"""One part of a MusicXML score, measure by measure: a cursor that knows the exact place of every note.

Where a note's duration and its notated value disagree by less than one division, the file has rounded (tuplets mostly)
and the notation wins; in any other disagreement the duration wins, because the file's own cursor moves by it.
"""

from __future__ import annotations

import re
from fractions import Fraction

from lxml import etree

from autoorch.errors import SketchError
from autoorch.pitch import NATURAL, STEPS, Pitch, from_midi
from autoorch.sketch.guard import Limits, integer, number, plain
from autoorch.sketch.musicxml.attributes import Attributes
from autoorch.sketch.musicxml.chords import chord_text
from autoorch.sketch.musicxml.count import Count
from autoorch.sketch.musicxml.cursor import Cursor
from autoorch.sketch.musicxml.directions import QUARTERS, Directions
from autoorch.sketch.musicxml.element import NoteElement, read_note
from autoorch.sketch.musicxml.notations import Signs, dynamics, read_signs
from autoorch.sketch.musicxml.written import ZERO, BarLine, Placed, Where, Written

WHOLE = Fraction(4)
FORTE = 90
"""MIDI velocity of MusicXML's `dynamics="100"` (MusicXML 4.0, musicxml.xsd)."""

_BARLINES = {
    "light-light": "double",
    "light-heavy": "final",
    "heavy-light": "final",
    "heavy-heavy": "final",
    "dashed": "dashed",
    "dotted": "dashed",
}


class Part:
    """Reads one part.

    Attributes:
        notes: in the order of the file; tied notes apart.
        slurs: (number, "start" or "stop", note), in the order of the file.
        directions: the marks.
        lengths: quarters that each bar holds, 0 for an empty one; rests count only as far as the metre goes.
        numbers, implicit: of each bar, as printed.
        lines: bar -> what its bar lines say.
        attributes: metres, keys, number of staves.
    """

    def __init__(self, file: str, count: Count, limits: Limits) -> None:
        self._where = Where(file)
        self._count = count
        self._limits = limits
        self.notes: list[Written] = []
        self.slurs: list[tuple[str, str, Written]] = []
        self.directions = Directions(count, limits)
        self.lengths: list[Fraction] = []
        self.numbers: list[str] = []
        self.implicit: list[bool] = []
        self.lines: dict[int, BarLine] = {}
        self.attributes = Attributes(self._where, count, limits)
        self._durations: dict[str, Fraction] = {}
        self._pitches: dict[tuple[str, str, str, tuple[int, int]], tuple[Pitch, bool]] = {}
        self._values: dict[tuple[str, int, str, str], Fraction | None] = {}
        self._begin()

    def _begin(self) -> None:
        self._cursor = Cursor()
        self._end = self._sounds = self._chord_at = ZERO
        self._chord: list[Written] = []
        self._shared: frozenset[str] = frozenset()
        self._backups = 0

    def skip(self, bars: int) -> None:
        """Empty bars, until there are `bars` of them."""
        while len(self.lengths) < bars:
            self.lengths.append(ZERO)
            self.numbers.append("")
            self.implicit.append(False)

    def measure(self, element: etree._Element, number_text: str, implicit: bool) -> None:
        """One more bar: `element` holds its notes.

        Raises:
            SketchError: with the bar, where a value makes no sense.
        """
        if len(self.lengths) >= self._limits.bars:
            raise SketchError(f"has more than {self._limits.bars:,} bars; that is no sketch", self._where.file)
        self._count.see(element)
        self._begin()
        self.numbers.append(plain(number_text, 12) or str(len(self.lengths) + 1))
        self.implicit.append(implicit)
        self._bar = len(self.lengths)
        self._where.bar = self.numbers[-1]
        for child in element.iterchildren("*"):
            match child.tag:
                case "note":
                    self._note(child)
                case "backup":
                    self._backups += 1
                    self._move(-self._duration(child.findtext("duration")))
                case "forward":
                    self._move(self._duration(child.findtext("duration")))
                    self._end = max(self._end, self._cursor.at)
                case "attributes":
                    self.attributes.read(child, self._bar, bool(self._cursor.at))
                    self._durations.clear()
                case "direction":
                    self.directions.read(child, self._bar, self._place(child), self._staff(child))
                case "harmony":
                    self._harmony(child)
                case "sound":
                    self.directions.sound(child, self._bar, self._place(child))
                case "barline":
                    self._barline(child)
        if self._end > self._limits.bar_quarters:
            raise self._where.error(
                f"is longer than {self._limits.bar_quarters:,} quarters; check its durations and divisions"
            )
        full = self.attributes.metre_quarters or self._end
        self.lengths.append(max(self._sounds, min(self._end, full)))

    # Time

    def _duration(self, text: str | None) -> Fraction:
        text = text or ""
        found = self._durations.get(text)
        if found is None:
            value = number(text)
            if value is None or value < 0:
                raise self._where.error(f'"{plain(text, 40)}" is no duration')
            found = self._durations[text] = value / self.attributes.divisions
        return found

    def _move(self, quarters: Fraction) -> None:
        self._cursor.move(quarters, 1 / self.attributes.divisions)

    def _value(self, kind: str, dots: int, actual: str, normal: str) -> Fraction | None:
        """Quarters of a notated value; None where the file names none that exists."""
        key = (kind, dots, actual, normal)
        if key not in self._values:
            base, many, few = QUARTERS.get(kind), integer(actual), integer(normal)
            if base is None or dots > 8 or not many or not few or many < 0 or few < 0:
                self._values[key] = None
            else:
                self._values[key] = base * (2 - Fraction(1, 2**dots)) * few / many
        return self._values[key]

    def _place(self, element: etree._Element) -> Fraction:
        """Where a direction stands, its offset included, never before the bar."""
        offset = number(element.findtext("offset"))
        return max(ZERO, self._cursor.at + offset / self.attributes.divisions) if offset else self._cursor.at

    # Notes

    def _note(self, element: etree._Element) -> None:
        found = read_note(element)
        duration = None if found.duration is None else self._duration(found.duration)
        staff = 0 if found.staff is None else self.attributes.staff(found.staff)
        at, length = self._placed(found, duration)
        if found.pitch is None or found.rest or found.silent:
            said = (mark for each in found.notations for mark in each.iterfind("dynamics"))
            self._dynamics([value for mark in said for value in dynamics(mark, self._count)], at, staff)
            return
        signs = Signs(tied_from=found.tied_from, tied_to=found.tied_to)
        for each in found.notations:
            read_signs(each, signs, self._count)
        self._dynamics(signs.dynamics, at, staff)
        note = Written(
            self._bar,
            at,
            length,
            self._pitch(found.pitch),
            staff,
            found.voice or str(1 + self._backups),
            self._velocity(element.get("dynamics")),
            found.ornament,
            frozenset(signs.marks),
            self._lyric(found.lyric) if found.lyric is not None else "",
            signs.tied_from and found.grace is None,
            signs.tied_to and found.grace is None,
        )
        self._with_chord(note, signs.shared, found.chord)
        self.notes.append(note)
        self.slurs.extend((name, end, note) for name, end in signs.slurs)

    def _placed(self, found: NoteElement, duration: Fraction | None) -> tuple[Fraction, Fraction]:
        """(quarters from the bar's start, quarters) of a note or rest; the cursor goes on behind it."""
        value = self._value(found.kind, found.dots, found.actual, found.normal)
        at = self._chord_at if found.chord else self._cursor.at
        length = ZERO if found.grace is not None else self._length(duration, value, found.whole_bar)
        if not found.chord:
            self._chord_at = at
            if found.grace is None:
                self._cursor.advance(length if duration is None else duration, length)
        self._end = max(self._end, at + length)
        if not found.rest:
            self._sounds = max(self._sounds, at + length)
        return at, length

    def _with_chord(self, note: Written, shared: set[str], chord: bool) -> None:
        """Give all notes of a chord what holds for the whole of it."""
        if not chord:
            self._chord, self._shared = [], frozenset()
        self._chord.append(note)
        self._shared |= shared
        for each in self._chord:
            each.marks |= self._shared

    def _dynamics(self, values: list[str], at: Fraction, staff: int) -> None:
        for value in values:
            self.directions.marks.append(Placed("dynamic", self._bar, at, staff, value))

    def _length(self, duration: Fraction | None, value: Fraction | None, whole_bar: bool) -> Fraction:
        if not duration:
            if whole_bar:
                return self.attributes.metre_quarters or WHOLE
            if value is None:
                raise self._where.error("holds a note without a length")
            return value
        if whole_bar:
            return min(duration, self.attributes.metre_quarters) if self.attributes.metre_quarters else duration
        if value is not None and value != duration:
            divisions = value * self.attributes.divisions
            if divisions.denominator != 1 and abs(divisions - duration * self.attributes.divisions) < 1:
                return value
        return duration

    def _pitch(self, element: etree._Element) -> Pitch:
        step, alter, octave = (element.findtext(tag) or "" for tag in ("step", "alter", "octave"))
        key = (step, alter, octave, self.attributes.transpose)
        if key not in self._pitches:
            self._pitches[key] = self._sounding(step.strip(), number(alter or "0"), integer(octave))
        pitch, micro = self._pitches[key]
        if micro:
            self._count.give_up("microtone, taken as a semitone", "microtones, taken as semitones")
        return pitch

    def _sounding(self, step: str, alter: Fraction | None, octave: int | None) -> tuple[Pitch, bool]:
        """The sounding pitch, and whether a part of a semitone was left out."""
        if len(step) != 1 or step not in STEPS or octave is None or alter is None:
            raise self._where.error("holds a pitch without a step from C to B, an octave or a proper alteration")
        midi = 12 * (octave + 1) + NATURAL[STEPS.index(step)] + int(alter)
        if not 0 <= midi + self.attributes.transpose[1] <= 127:
            raise self._where.error(f"holds the pitch {step}{octave}, altered by {int(alter)}: no one can play that")
        written = Pitch(step, int(alter), octave) if abs(alter) <= 3 else from_midi(midi)
        moved = self.attributes.transpose != (0, 0)
        return written.transposed(*self.attributes.transpose) if moved else written, alter.denominator != 1

    def _velocity(self, text: str | None) -> int | None:
        percent = number(text)
        return None if percent is None else max(1, min(127, round(percent * FORTE / 100)))

    def _lyric(self, element: etree._Element) -> str:
        """The syllable; a hyphen at its end says that the word goes on."""
        text = "".join(child.text or "" for child in element.iterchildren("text", "elision"))
        syllabic = element.findtext("syllabic")
        syllable = plain(text, self._limits.text)
        if syllable:
            self._count.keep("lyric")
        return f"{syllable}-" if syllable and syllabic in ("begin", "middle") else syllable

    def _staff(self, element: etree._Element) -> int:
        text = element.findtext("staff")
        return self.attributes.staff(text) if text else 0

    def _harmony(self, element: etree._Element) -> None:
        text = chord_text(element, self.attributes.transpose)
        if text:
            self.directions.marks.append(
                Placed("chord", self._bar, self._place(element), self._staff(element), plain(text, self._limits.text))
            )
            self._count.keep("harmony")

    def _barline(self, element: etree._Element) -> None:
        line = self.lines.setdefault(self._bar, BarLine())
        left = element.get("location") == "left"
        if element.find("fermata") is not None:
            self._count.keep("fermata", len(element.findall("fermata")))
            line.fermata = True
        style = (element.findtext("bar-style") or "").strip()
        if not left and style in _BARLINES:
            line.barline = _BARLINES[style]
        repeat = element.find("repeat")
        if repeat is not None and repeat.get("direction") == "forward":
            line.repeat_start = True
        elif repeat is not None:
            line.repeat_end = min(99, max(2, integer(repeat.get("times")) or 2))
        ending = element.find("ending")
        if ending is not None:
            numbers = [int(digits) for digits in re.findall(r"\d{1,3}", plain(ending.get("number"), 40))]
            if ending.get("type") == "start":
                line.ending_start = tuple(sorted(set(numbers)))
                if not numbers:
                    self._count.give_up("ending without a number", "endings without numbers")
            else:
                line.ending_stop = True
