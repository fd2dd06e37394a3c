"""What stands between the notes of a MusicXML part (dynamics, hairpins, words, tempo, pedal, octave lines, …) as placed marks."""

from __future__ import annotations

import re
from fractions import Fraction

from lxml import etree

from autoorch.sketch.guard import Limits, number, plain
from autoorch.sketch.musicxml.count import Count
from autoorch.sketch.musicxml.notations import dynamics
from autoorch.sketch.musicxml.written import Placed
from autoorch.sketch.tempo import tempo_text

QUARTERS = {
    name: Fraction(2) ** (2 - power)
    for power, name in enumerate(
        (
            *("maxima", "long", "breve", "whole", "half", "quarter", "eighth"),
            *("16th", "32nd", "64th", "128th", "256th", "512th", "1024th"),
        ),
        start=-3,
    )
}
"""Quarters of each note type of MusicXML."""

_OTTAVA = {8: "8", 15: "15", 22: "22"}
_JUMPS = ("dacapo", "dalsegno", "fine", "tocoda", "segno", "coda")
_LINES = ("dashes", "bracket")
"""Lines that say how long the words before them last."""


class Directions:
    """Gathers the marks of one part in the order of the file.

    Attributes:
        marks: finished marks.
        jumps: whether the file tells the player to jump (D.C., D.S., coda).
    """

    def __init__(self, count: Count, limits: Limits) -> None:
        self.marks: list[Placed] = []
        self.jumps = False
        self._count = count
        self._limits = limits
        self._open: dict[tuple[str, str], list[Placed]] = {}
        self._bold: list[Placed] = []

    def read(self, direction: etree._Element, bar: int, at: Fraction, staff: int) -> None:
        """One `<direction>`; `at` in quarters, its own offset included; `staff` within the part."""
        words: list[str] = []
        bold = False
        lasting: list[tuple[str, str]] = []
        tempo = ""
        for kind in direction.iterfind("direction-type"):
            for sign in kind.iterchildren("*"):
                tag = str(sign.tag)
                if tag == "words":
                    words.append(sign.text or "")
                    bold |= sign.get("font-weight") == "bold"
                    self._count.keep(tag)
                elif tag == "metronome":
                    tempo = self._metronome(sign) or tempo
                elif tag == "dynamics":
                    for value in dynamics(sign, self._count):
                        self.marks.append(Placed("dynamic", bar, at, staff, value))
                elif tag == "rehearsal":
                    self.marks.append(Placed("rehearsal", bar, at, -1, self._text(sign.text)))
                    self._count.keep(tag)
                elif tag in _LINES and sign.get("type") == "start":
                    lasting.append((tag, sign.get("number") or "1"))
                else:
                    self._sign(sign, bar, at, staff)
        tempo = tempo or self._sound(direction.find("sound"))
        text = self._text(" ".join(words))
        if not tempo and not text:
            return
        mark = Placed("tempo", bar, at, -1, tempo, text) if tempo else Placed("words", bar, at, staff, text)
        self.marks.append(mark)
        if bold and not tempo and not lasting:
            self._bold.append(mark)
        for key in lasting:
            self._start(key, mark)

    def sound(self, sound: etree._Element, bar: int, at: Fraction) -> None:
        """A `<sound>` that stands by itself."""
        tempo = self._sound(sound)
        if tempo:
            self.marks.append(Placed("tempo", bar, at, -1, tempo))

    def finish(self) -> None:
        """Close what the file has left open at the end of the bar in which it began."""
        for (tag, _), open_marks in self._open.items():
            for mark in open_marks:
                if tag not in _LINES:
                    mark.end_bar, mark.end_at = mark.bar + 1, Fraction(0)
                    self.marks.append(mark)
        self._open.clear()
        for words in self._bold:
            self._join(words)

    def _join(self, words: Placed) -> None:
        """Bold words at a bare metronome mark are its own, in whichever order the file has the two."""
        here = (m for m in self.marks if m.kind == "tempo" and (m.bar, m.at) == (words.bar, words.at))
        bare = next((mark for mark in here if not mark.text), None)
        if bare is not None:
            bare.text = words.value
            self.marks.remove(words)

    def _text(self, text: str | None) -> str:
        return plain(text, self._limits.text)

    def _metronome(self, mark: etree._Element) -> str:
        unit = QUARTERS.get(mark.findtext("beat-unit") or "")
        digits = re.search(r"\d+(\.\d+)?", plain(mark.findtext("per-minute"), 40))
        per_minute = number(digits.group()) if digits else None
        if unit is None or per_minute is None:
            return ""
        first = mark.find("beat-unit")
        sibling = first.getnext() if first is not None else None
        dot = unit / 2
        while sibling is not None and sibling.tag == "beat-unit-dot":
            unit += dot
            dot /= 2
            sibling = sibling.getnext()
        self._count.keep("metronome")
        return tempo_text(per_minute * unit)

    def _sound(self, sound: etree._Element | None) -> str:
        if sound is None:
            return ""
        self.jumps |= any(sound.get(jump) for jump in _JUMPS)
        value = number(sound.get("tempo"))
        return tempo_text(value) if value is not None else ""

    def _sign(self, sign: etree._Element, bar: int, at: Fraction, staff: int) -> None:
        tag, kind, name = str(sign.tag), sign.get("type") or "", sign.get("number") or "1"
        if tag == "wedge":
            if kind in ("crescendo", "diminuendo"):
                self._start((tag, name), Placed("wedge", bar, at, staff, kind))
            else:
                self._end(tag, name, kind, bar, at)
        elif tag == "octave-shift":
            if kind in ("up", "down"):
                # "down": printed lower than it sounds, which is the sign 8va (MusicXML 4.0, octave-shift).
                size = _OTTAVA.get(int(number(sign.get("size")) or 8), "8")
                suffix = {"8": ("va", "vb")}.get(size, ("ma", "mb"))[kind == "up"]
                self._start((tag, name), Placed("ottava", bar, at, staff, size + suffix))
            else:
                self._end(tag, name, kind, bar, at)
        elif tag == "pedal":
            self._pedal(kind, bar, at, staff)
        elif tag in _LINES:
            self._end(tag, name, kind, bar, at)
        elif tag in ("segno", "coda"):
            self.jumps = True
            self.marks.append(Placed("text", bar, at, -1, tag))
            self._count.keep(tag)
        elif tag == "other-direction":
            text = self._text(sign.text)
            if text:
                self.marks.append(Placed("text", bar, at, staff, text))
                self._count.keep(tag)

    def _pedal(self, kind: str, bar: int, at: Fraction, staff: int) -> None:
        key = ("pedal", "1")
        if kind in ("stop", "discontinue"):
            self._end("pedal", "1", "stop", bar, at)
        elif kind == "continue":
            self._count.keep("pedal")
        else:
            if kind == "change" and self._open.get(key):
                self._stop(key, bar, at)
                self._count.keep("pedal", -1)
            self._start(key, Placed("pedal", bar, at, staff, "sostenuto" if kind == "sostenuto" else ""))

    def _start(self, key: tuple[str, str], mark: Placed) -> None:
        self._open.setdefault(key, []).append(mark)

    def _end(self, tag: str, name: str, kind: str, bar: int, at: Fraction) -> None:
        if kind == "continue":
            self._count.keep(tag)
        else:
            self._stop((tag, name), bar, at)

    def _stop(self, key: tuple[str, str], bar: int, at: Fraction) -> None:
        """Ends the last open mark of this kind; both of its signs are then kept."""
        open_marks = self._open.get(key)
        if not open_marks:
            return
        mark = open_marks.pop()
        mark.end_bar, mark.end_at = bar, at
        if key[0] not in _LINES:
            self.marks.append(mark)
        self._count.keep(key[0], 2)
