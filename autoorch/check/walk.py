"""Walks one MusicXML part: raw notes and marks, placed by (measure, quarters from its start)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from lxml import etree

from autoorch.errors import SketchError
from autoorch.pitch import NATURAL, STEPS, Pitch
from autoorch.sketch import guard

DYNAMIC_SIGNS = {
    "pppppp": "ppp", "ppppp": "ppp", "pppp": "ppp", "n": "ppp", "ppp": "ppp", "pp": "pp", "p": "p", "mp": "mp", "mf": "mf",
    "f": "f", "ff": "ff", "fff": "fff", "ffff": "fff", "fffff": "fff", "ffffff": "fff",
    "fp": "p", "sfp": "p", "sfpp": "pp", "sffp": "p", "pf": "f", "ffp": "p", "mfp": "p",
}  # fmt: skip
ACCENTS = {"sf", "sfz", "sffz", "fz", "rf", "rfz", "sfzp"}
BEATS = {"whole": 4.0, "half": 2.0, "quarter": 1.0, "eighth": 0.5, "16th": 0.25, "32nd": 0.125}
_RATE = re.compile(r"\d+(?:\.\d+)?", re.ASCII)
_LONG = 4000  # quarters in one measure or note: beyond it the file is broken


@dataclass(slots=True)
class Raw:
    """One `<note>` that sounds, before ties are merged; `at` counts quarters from the measure's start."""

    measure: int
    at: Fraction
    length: Fraction
    pitch: int
    letter: str
    alter: int
    sounding: Pitch | None
    voice: str
    staff: int
    instrument: str
    semitones: int
    grace: bool = False
    tie_in: bool = False
    tie_out: bool = False
    slurred: bool = False
    breath: bool = False
    tremolo: bool = False
    harmonic: bool = False
    rolled: bool = False
    snap: bool = False
    clef: str = ""


@dataclass(slots=True)
class RawMark:
    """A mark at a place: kind "dynamic", "accent", "wedge", "words", "tempo", "pizz", "arco", "mute", "unmute"."""

    measure: int
    at: Fraction
    kind: str
    text: str


@dataclass(slots=True)
class Walked:
    """A part as it stands in the file; `transposes`: whether the file gives a transposition at all."""

    notes: list[Raw] = field(default_factory=list)
    marks: list[RawMark] = field(default_factory=list)
    lengths: list[Fraction] = field(default_factory=list)
    times: list[tuple[int, int, int]] = field(default_factory=list)
    transposes: bool = False


def text(element: etree._Element, tag: str, default: str = "") -> str:
    found = element.findtext(tag)
    return found.strip() if found else default


def number(value: str, what: str, file: str, bar: str) -> Fraction:
    """A number of the file.

    Raises:
        SketchError: where it is none.
    """
    found = guard.number(value)
    if found is None:
        raise SketchError(f"{what} {guard.plain(value, 20)!r} is no number", file, bar)
    return found


class Walker:
    """Reads the measures of one part in order."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.out = Walked()
        self._divisions = Fraction(1)
        self._clefs: dict[str, str] = {}
        self._transpose = (0, 0)
        self._slurs: set[tuple[str, str]] = set()
        self._bar = ""
        self._measure = 0
        self._cursor = Fraction(0)
        self._start = Fraction(0)

    def walk(self, measures: Iterator[etree._Element] | list[etree._Element]) -> Walked:
        for index, measure in enumerate(measures):
            self._measure, self._bar = index, measure.get("number") or str(index + 1)
            self._cursor = self._start = longest = Fraction(0)
            for element in measure:
                tag = element.tag
                if tag == "note":
                    self._note(element)
                elif tag == "backup":
                    self._cursor = max(Fraction(0), self._cursor - self._duration(element))
                elif tag == "forward":
                    self._cursor += self._duration(element)
                elif tag == "attributes":
                    self._attributes(element)
                elif tag == "direction":
                    self._direction(element)
                elif tag == "sound":
                    self._sound(element, self._cursor)
                longest = max(longest, self._cursor)
            if longest > _LONG:
                raise SketchError(f"the bar is {float(longest):.0f} quarters long", self.file, self._bar)
            self.out.lengths.append(longest)
        return self.out

    def _number(self, value: str, what: str) -> Fraction:
        return number(value, what, self.file, self._bar)

    def _duration(self, element: etree._Element) -> Fraction:
        value = self._number(text(element, "duration", "0"), "the duration")
        return max(Fraction(0), value) / self._divisions

    def _attributes(self, element: etree._Element) -> None:
        if value := text(element, "divisions"):
            self._divisions = self._number(value, "the divisions")
            if self._divisions <= 0:
                raise SketchError(f"divisions of {value} make no sense", self.file, self._bar)
        for transpose in element.findall("transpose"):
            chromatic = int(self._number(text(transpose, "chromatic", "0"), "the transposition"))
            octave = int(self._number(text(transpose, "octave-change", "0"), "the transposition"))
            diatonic = text(transpose, "diatonic")
            letters = int(self._number(diatonic, "the transposition")) if diatonic else round(chromatic * 7 / 12)
            self._transpose = (letters + 7 * octave, chromatic + 12 * octave)
            self.out.transposes = True
        for clef in element.findall("clef"):
            self._clefs[clef.get("number") or "1"] = text(clef, "sign")
        if (time := element.find("time")) is not None and (beats := text(time, "beats")):
            try:
                top = sum(int(piece) for piece in beats.split("+"))
                self.out.times.append((self._measure, top, int(text(time, "beat-type", "4"))))
            except ValueError:
                return

    def _direction(self, element: etree._Element) -> None:
        offset = text(element, "offset")
        at = max(Fraction(0), self._cursor + (self._number(offset, "the offset") / self._divisions if offset else 0))
        for kind in element.findall("direction-type"):
            for sign in kind:
                if sign.tag == "dynamics":
                    self._dynamics(sign, at)
                elif sign.tag == "wedge":
                    self._mark(at, "wedge", sign.get("type") or "")
                elif sign.tag == "words":
                    self._mark(at, "words", guard.plain(sign.text, 120))
                elif sign.tag == "metronome":
                    self._metronome(sign, at)
        if (sound := element.find("sound")) is not None:
            self._sound(sound, at)

    def _mark(self, at: Fraction, kind: str, value: str) -> None:
        self.out.marks.append(RawMark(self._measure, at, kind, value))

    def _dynamics(self, element: etree._Element, at: Fraction) -> None:
        for sign in element:
            name = (sign.text or "").strip() if sign.tag == "other-dynamics" else str(sign.tag)
            if name in DYNAMIC_SIGNS:
                self._mark(at, "dynamic", DYNAMIC_SIGNS[name])
            elif name in ACCENTS:
                self._mark(at, "accent", name)
            elif name:
                self._mark(at, "words", name)

    def _metronome(self, element: etree._Element, at: Fraction) -> None:
        unit, rate = text(element, "beat-unit"), text(element, "per-minute")
        if unit in BEATS and (found := _RATE.search(rate)):
            dots = len(element.findall("beat-unit-dot"))
            self._mark(at, "tempo", str(float(found[0]) * BEATS[unit] * (2 - 0.5**dots)))

    def _sound(self, element: etree._Element, at: Fraction) -> None:
        if tempo := element.get("tempo"):
            self._mark(at, "tempo", str(float(self._number(tempo, "the tempo"))))
        if pizz := element.get("pizzicato"):
            self._mark(at, "pizz" if pizz == "yes" else "arco", "pizz." if pizz == "yes" else "arco")
        for mute in element.iter("mute"):
            self._mark(at, "unmute" if (mute.text or "").strip() in ("off", "open") else "mute", "mute")

    def _note(self, element: etree._Element) -> None:
        tags = {child.tag: child for child in reversed(element) if isinstance(child.tag, str)}
        grace = "grace" in tags
        length = Fraction(0) if grace else self._duration(element)
        if length > _LONG:
            raise SketchError(f"a note is {float(length):.0f} quarters long", self.file, self._bar)
        if "chord" not in tags:
            self._start = self._cursor
            self._cursor += length
        if "rest" in tags or "cue" in tags or not ("pitch" in tags or "unpitched" in tags):
            return
        if length == 0 and not grace:
            return
        raw = self._head(element, tags)
        raw.at, raw.length, raw.grace = self._start, length, grace
        raw.clef = self._clefs.get(str(raw.staff), "")
        for tie in element.findall("tie"):
            raw.tie_in |= tie.get("type") == "stop"
            raw.tie_out |= tie.get("type") == "start"
        for notations in element.findall("notations"):
            self._notations(notations, raw)
        raw.slurred = any(voice == raw.voice for voice, _ in self._slurs)
        self.out.notes.append(raw)

    def _head(self, element: etree._Element, tags: dict[str, etree._Element]) -> Raw:
        voice, staff = text(element, "voice", "1"), text(element, "staff", "1")
        instrument = tags["instrument"].get("id") or "" if "instrument" in tags else ""
        where = int(staff) if staff.isdigit() else 1
        if "pitch" not in tags:
            return Raw(self._measure, Fraction(0), Fraction(0), -1, "", 0, None, voice, where, instrument, 0)
        pitch = tags["pitch"]
        letter = text(pitch, "step").upper()
        alter = int(self._number(text(pitch, "alter", "0"), "the alteration"))
        octave = int(self._number(text(pitch, "octave", "4"), "the octave"))
        if len(letter) != 1 or letter not in STEPS or not -3 <= alter <= 3 or not -2 <= octave <= 11:
            raise SketchError(f"{letter[:5]}{alter:+d} in octave {octave} is no pitch", self.file, self._bar)
        written = Pitch(letter, alter, octave)
        midi = 12 * (octave + 1) + NATURAL[STEPS.index(letter)] + alter + self._transpose[1]
        if not 0 <= midi <= 127:
            raise SketchError(f"{written} sounds beyond all hearing", self.file, self._bar)
        sounding = written.transposed(*self._transpose) if self._transpose != (0, 0) else written
        return Raw(
            self._measure, Fraction(0), Fraction(0), midi, letter, alter, sounding, voice, where, instrument, -self._transpose[1]
        )  # fmt: skip

    def _notations(self, element: etree._Element, raw: Raw) -> None:
        for sign in element:
            if sign.tag == "slur":
                key = (raw.voice, sign.get("number") or "1")
                if sign.get("type") == "start":
                    self._slurs.add(key)
                elif sign.get("type") == "stop":
                    self._slurs.discard(key)
                    self._slurs = {other for other in self._slurs if other[1] != key[1]}
            elif sign.tag == "tied":
                raw.tie_in |= sign.get("type") == "stop"
                raw.tie_out |= sign.get("type") == "start"
            elif sign.tag == "fermata":
                raw.breath = True
            elif sign.tag == "arpeggiate":
                raw.rolled = True
            elif sign.tag == "dynamics":
                self._dynamics(sign, self._start)
            elif sign.tag in ("articulations", "technical", "ornaments"):
                for mark in sign:
                    raw.breath |= mark.tag in ("breath-mark", "caesura")
                    raw.harmonic |= mark.tag == "harmonic"
                    raw.snap |= mark.tag == "snap-pizzicato"
                    raw.tremolo |= mark.tag == "tremolo"
