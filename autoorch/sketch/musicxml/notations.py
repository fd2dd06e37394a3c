"""The signs on one note of a MusicXML file, as the names that a sketch note carries."""

from __future__ import annotations

from dataclasses import dataclass, field

from lxml import etree

from autoorch.sketch.guard import plain
from autoorch.sketch.musicxml.count import Count

# Technical signs that mean something off the instrument they were written for; fingerings, strings and frets do not.
_WORDS = """
up-bow down-bow harmonic open-string thumb-position double-tongue triple-tongue stopped snap-pizzicato open half-muted
harmon-mute flip smear brass-bend golpe
"""
_TECHNICAL = frozenset(_WORDS.split())
_UNNAMED = frozenset(("other-articulation", "other-ornament", "other-technical", "other-notation"))
_PAIRED = frozenset(("glissando", "slide", "wavy-line"))


@dataclass(slots=True)
class Signs:
    """What stands on one note.

    Attributes:
        marks: names as in SketchNote.marks.
        shared: those of them that hold for the whole chord, whichever of its notes they stand on.
        dynamics: values of dynamics written among the note's signs.
        slurs: (number, "start" or "stop").
        tied_from, tied_to: by the tie signs.
    """

    marks: set[str] = field(default_factory=set)
    shared: set[str] = field(default_factory=set)
    dynamics: list[str] = field(default_factory=list)
    slurs: list[tuple[str, str]] = field(default_factory=list)
    tied_from: bool = False
    tied_to: bool = False


def read_signs(notations: etree._Element, signs: Signs, count: Count) -> None:
    """Add what one `<notations>` holds to `signs`."""
    for sign in notations.iterchildren("*"):
        match sign.tag:
            case "slur":
                _slur(sign, signs, count)
            case "tied":
                kind = sign.get("type")
                signs.tied_from |= kind == "stop"
                signs.tied_to |= kind == "start"
                if kind == "continue":
                    signs.tied_from = signs.tied_to = True
                if kind == "let-ring":
                    signs.marks.add("let-ring")
            case "articulations":
                for child in sign.iterchildren("*"):
                    _name(child, signs, count)
                    signs.shared.update(signs.marks.intersection((str(child.tag),)))
            case "ornaments":
                for child in sign.iterchildren("*"):
                    _ornament(child, signs, count)
            case "technical":
                for child in sign.iterchildren("*"):
                    if child.tag in _TECHNICAL:
                        _name(child, signs, count)
            case "dynamics":
                signs.dynamics.extend(dynamics(sign, count))
            case "arpeggiate":
                if sign.get("direction") == "down":
                    count.give_up("downward direction of an arpeggio sign", "downward directions of arpeggio signs")
                _name(sign, signs, count)
            case "fermata" | "non-arpeggiate":
                _name(sign, signs, count)
            case "glissando" | "slide" | "accidental-mark":
                _ornament(sign, signs, count)


def dynamics(element: etree._Element, count: Count) -> list[str]:
    """The values of a `<dynamics>` element: "p", "sfz", the text of any other."""
    values = []
    for child in element.iterchildren("*"):
        value = plain(child.text, 40) if child.tag == "other-dynamics" else str(child.tag)
        if value:
            values.append(value)
            count.keep(str(child.tag))
    return values


def _slur(sign: etree._Element, signs: Signs, count: Count) -> None:
    kind = sign.get("type") or ""
    if kind in ("start", "stop"):
        signs.slurs.append((sign.get("number") or "1", kind))
    elif kind == "continue":
        count.keep("slur")


def _name(sign: etree._Element, signs: Signs, count: Count) -> None:
    if sign.tag not in _UNNAMED:
        signs.marks.add(str(sign.tag))
        count.keep(str(sign.tag))


def _ornament(sign: etree._Element, signs: Signs, count: Count) -> None:
    tag = str(sign.tag)
    kind = sign.get("type") or "single"
    if tag == "tremolo":
        beams = plain(sign.text, 2)
        beams = beams if beams in ("1", "2", "3", "4", "5", "6", "7", "8") else "3"
        signs.marks.add(f"tremolo-{kind}-{beams}" if kind in ("start", "stop") else f"tremolo-{beams}")
        count.keep(tag)
    elif tag in _PAIRED:
        if kind in ("start", "stop"):
            signs.marks.add(f"{tag}-{kind}")
        count.keep(tag)
    elif tag == "accidental-mark":
        signs.marks.add(f"accidental-mark-{plain(sign.text, 40)}")
        count.keep(tag)
    else:
        _name(sign, signs, count)
