"""Faults planted at random into a score that has none: each kind knows which rule must find it, in which part and bars.

A host is any part-wise MusicXML score whose parts have English names. Pitches here are sounding MIDI numbers, lengths
quarters.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from lxml import etree

from autoorch.check import CheckReport
from autoorch.pitch import from_midi

FINE = 5040  # every duration of the host is multiplied, so that any value a fault needs is a whole number
Event = tuple[Sequence[int], Fraction | float, str]
REST: tuple[int, ...] = ()


@dataclass(frozen=True)
class Planted:
    """What must be found: a rule, at least so severe, in that part ("" for the score's), in one of these bars (indices)."""

    rule: str
    severity: str
    part: str
    first: int
    last: int

    def found(self, clean: CheckReport, dirty: CheckReport, numbers: Sequence[str]) -> bool:
        """Whether a finding that the clean score did not have says it."""
        order = ("unplayable", "risky", "style")
        bars = set(numbers[max(0, self.first - 1) : self.last + 2])
        before = set(clean.findings)
        return any(
            finding.rule == self.rule
            and finding.part == self.part
            and finding.bar in bars
            and order.index(finding.severity) <= order.index(self.severity)
            and finding not in before
            for finding in dirty.findings
        )


class Host:
    """A score to plant in; `save` writes it, `fresh` gives an unspoilt copy."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self.root = etree.fromstring(data)
        for tag in ("divisions", "duration", "offset"):
            for element in self.root.iter(tag):
                element.text = str(int(Fraction(element.text or "0") * FINE))
        self.names = {
            row.get("id") or "": (row.findtext("part-name") or "").strip() for row in self.root.iter("score-part")
        }
        self.parts = {part.get("id") or "": part for part in self.root.findall("part")}
        first = next(iter(self.parts.values()))
        self.numbers = [measure.get("number") or "" for measure in first.findall("measure")]
        self.bars = len(self.numbers)

    @staticmethod
    def read(path: Path) -> Host:
        return Host(path.read_bytes())

    def fresh(self) -> Host:
        return Host(self._data)

    def save(self, path: Path) -> Path:
        path.write_bytes(etree.tostring(self.root, xml_declaration=True, encoding="UTF-8"))
        return path

    def find(self, *starts: str) -> list[str]:
        """Ids of the parts whose name begins with one of the words."""
        return [
            key for key, name in self.names.items() if name.casefold().startswith(tuple(s.casefold() for s in starts))
        ]

    def measure(self, part: str, bar: int) -> etree._Element:
        return self.parts[part].findall("measure")[bar]

    def _in_force(self, part: str, bar: int, tag: str) -> etree._Element | None:
        found = None
        for measure in self.parts[part].findall("measure")[: bar + 1]:
            for element in measure.iterfind(f"attributes/{tag}"):
                found = element
        return found

    def length(self, bar: int) -> Fraction:
        """Quarters of a bar, by its metre."""
        time = self._in_force(next(iter(self.parts)), bar, "time")
        assert time is not None
        return Fraction(4 * int(time.findtext("beats") or 4), int(time.findtext("beat-type") or 4))

    def quarters_a_second(self, bar: int) -> float:
        """By the tempo in force at the bar's end; 96 a minute where there is none, as the checker assumes."""
        found = 96.0
        for measure in next(iter(self.parts.values())).findall("measure")[: bar + 1]:
            for sound in measure.iter("sound"):
                found = float(sound.get("tempo") or found)
        return found / 60

    def fill(self, part: str, bar: int, events: Sequence[Event], words: Sequence[str] = ()) -> None:
        """The bar's music replaced; the rest of it stays silent. An event's third field: "dyn:ff", "words:pizz.", "tie",
        "slur+", "slur-", "in:ID" (instrument), any of them apart by blanks."""
        measure = self.measure(part, bar)
        for child in list(measure):
            if child.tag in ("note", "backup", "forward", "direction", "barline"):
                measure.remove(child)
        divisions = self._in_force(part, bar, "divisions")
        unit = Fraction(divisions.text or "1") if divisions is not None else Fraction(FINE)
        shift = self._in_force(part, bar, "transpose")
        semitones = 0
        if shift is not None:
            semitones = int(shift.findtext("chromatic") or 0) + 12 * int(shift.findtext("octave-change") or 0)
        left = self.length(bar)
        for word in words:
            self._direction(measure, word)
        for pitches, length, signs in events:
            quarters = min(Fraction(length).limit_denominator(5040), left)
            if quarters <= 0:
                break
            left -= quarters
            for sign in signs.split():
                if sign.startswith(("dyn:", "words:")):
                    self._direction(measure, sign)
            for place, pitch in enumerate(pitches or (None,)):
                measure.append(_note(pitch, semitones, int(quarters * unit), signs, place > 0))
        if left > 0:
            measure.append(_note(None, 0, int(left * unit), "", False))

    def _direction(self, measure: etree._Element, sign: str) -> None:
        kind, _, value = sign.partition(":")
        inner = etree.SubElement(etree.SubElement(measure, "direction"), "direction-type")
        if kind == "dyn":
            etree.SubElement(etree.SubElement(inner, "dynamics"), value)
        else:
            etree.SubElement(inner, "words").text = value.replace("_", " ")

    def rest(self, part: str, first: int, last: int) -> None:
        for bar in range(first, last + 1):
            self.fill(part, bar, [])


def _note(pitch: int | None, semitones: int, duration: int, signs: str, chord: bool) -> etree._Element:
    note = etree.Element("note")
    if chord:
        etree.SubElement(note, "chord")
    if pitch is None:
        etree.SubElement(note, "rest")
    else:
        written = from_midi(pitch - semitones)
        element = etree.SubElement(note, "pitch")
        etree.SubElement(element, "step").text = written.step
        if written.alter:
            etree.SubElement(element, "alter").text = str(written.alter)
        etree.SubElement(element, "octave").text = str(written.octave)
    etree.SubElement(note, "duration").text = str(duration)
    words = signs.split()
    if pitch is not None and "tie" in words:
        etree.SubElement(note, "tie", type="stop")
        etree.SubElement(note, "tie", type="start")
    etree.SubElement(note, "voice").text = "1"
    notations = etree.SubElement(note, "notations")
    for sign, kind in (("slur+", "start"), ("slur-", "stop")):
        if sign in words:
            etree.SubElement(notations, "slur", type=kind, number="1")
    return note


Kind = Callable[[Host, random.Random], Planted | None]
