"""What a written score sounds: each part's attacks and ends at sounding pitch, read from the MusicXML file alone.

An independent reader for measurements: it knows the file format and nothing of autoorch's own values.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from lxml import etree

STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@dataclass
class Heard:
    """One part.

    Attributes:
        name: as printed in the part list.
        attacks: quarters from the start -> sounding MIDI pitches struck there, tied notes only once, grace notes left out.
        sounds: (start, end, pitch) of every sounding note, ties joined.
    """

    name: str
    attacks: dict[Fraction, list[int]] = field(default_factory=lambda: defaultdict(list))
    sounds: list[tuple[Fraction, Fraction, int]] = field(default_factory=list)


def hear(path: Path) -> dict[str, Heard]:
    """Part id -> what it sounds; repeats are not played out."""
    root = etree.parse(str(path)).getroot()
    names = {part.get("id"): part.findtext("part-name", "") for part in root.iter("score-part")}
    return {part.get("id"): _part(part, names[part.get("id")]) for part in root.iterfind("part")}


def _part(part: etree._Element, name: str) -> Heard:
    found = Heard(name)
    divisions, shift, start = Fraction(1), 0, Fraction(0)
    held: dict[tuple[str, int], Fraction] = {}
    for measure in part.iterfind("measure"):
        now = longest = last = start
        for element in measure:
            length = Fraction(element.findtext("duration", "0")) / divisions
            if element.tag == "attributes":
                divisions = Fraction(element.findtext("divisions", str(divisions)))
                if element.find("transpose") is not None:
                    shift = int(element.findtext("transpose/chromatic", "0"))
                    shift += 12 * int(element.findtext("transpose/octave-change", "0"))
            elif element.tag == "backup":
                now -= length
            elif element.tag == "forward":
                now += length
            elif element.tag == "note":
                onset = last if element.find("chord") is not None else now
                if element.find("pitch") is not None and element.find("grace") is None:
                    _sound(found, held, element, onset, onset + length, shift)
                if element.find("chord") is None:
                    last, now = now, now + length
            longest = max(longest, now)
        start = longest
    return found


def _sound(
    found: Heard,
    held: dict[tuple[str, int], Fraction],
    note: etree._Element,
    onset: Fraction,
    end: Fraction,
    shift: int,
) -> None:
    step, octave = note.findtext("pitch/step", "C"), int(note.findtext("pitch/octave", "4"))
    pitch = 12 * (octave + 1) + STEPS[step] + int(float(note.findtext("pitch/alter", "0"))) + shift
    ties = {tie.get("type") for tie in note.iterfind("tie")}
    key = (note.findtext("voice", "1"), pitch)
    began = held.pop(key, onset) if "stop" in ties else onset
    if "stop" not in ties:
        found.attacks[onset].append(pitch)
    if "start" in ties:
        held[key] = began
    else:
        found.sounds.append((began, end, pitch))
