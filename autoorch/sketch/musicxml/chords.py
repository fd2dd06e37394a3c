"""Chord symbols of a MusicXML file as the text that a musician writes: "Am7/G", "F#dim7", "C7(b9)", "N.C."."""

from __future__ import annotations

from lxml import etree

from autoorch.pitch import STEPS, Pitch
from autoorch.sketch.guard import integer, plain

# MusicXML 4.0, simple type kind-value -> the usual suffix (common practice).
_SUFFIX = {
    "major": "",
    "minor": "m",
    "augmented": "aug",
    "diminished": "dim",
    "dominant": "7",
    "major-seventh": "maj7",
    "minor-seventh": "m7",
    "diminished-seventh": "dim7",
    "augmented-seventh": "aug7",
    "half-diminished": "m7b5",
    "major-minor": "m(maj7)",
    "major-sixth": "6",
    "minor-sixth": "m6",
    "dominant-ninth": "9",
    "major-ninth": "maj9",
    "minor-ninth": "m9",
    "dominant-11th": "11",
    "major-11th": "maj11",
    "minor-11th": "m11",
    "dominant-13th": "13",
    "major-13th": "maj13",
    "minor-13th": "m13",
    "suspended-second": "sus2",
    "suspended-fourth": "sus4",
    "Neapolitan": "N6",
    "Italian": "It6",
    "French": "Fr6",
    "German": "Ger6",
    "pedal": "ped",
    "power": "5",
    "Tristan": "Tristan",
}
_DEGREE = {"add": "add", "alter": "", "subtract": "no"}


def chord_text(harmony: etree._Element, transpose: tuple[int, int]) -> str:
    """The symbol at sounding pitch; several chords of one symbol are joined by "|"; "" where nothing is legible."""
    found: list[str] = []
    bass, degrees = "", ""
    for child in harmony.iterchildren("*"):
        match child.tag:
            case "root":
                found.append(_note(child, "root", transpose))
            case "numeral":
                found.append(plain(child.findtext("numeral-root"), 10))
            case "function":
                found.append(plain(child.text, 20))
            case "kind":
                kind = (child.text or "").strip()
                if kind == "none":
                    found[-1:] = ["N.C."]
                elif found:
                    found[-1] += _SUFFIX.get(kind, plain(child.get("text"), 20))
            case "bass":
                bass = _note(child, "bass", transpose)
            case "degree":
                degrees += _degree(child)
    text = "|".join(name for name in found if name)
    return f"{text}{degrees}{'/' + bass if bass else ''}" if text else ""


def _note(element: etree._Element, name: str, transpose: tuple[int, int]) -> str:
    step, alter = plain(element.findtext(f"{name}-step"), 2), integer(element.findtext(f"{name}-alter") or "0")
    if step not in STEPS or not step or alter is None or abs(alter) > 3:
        return ""
    return str(Pitch(step, alter, 4).transposed(*transpose)).rstrip("-0123456789")


def _degree(element: etree._Element) -> str:
    value, alter = integer(element.findtext("degree-value")), integer(element.findtext("degree-alter") or "0")
    if value is None or alter is None or abs(alter) > 3:
        return ""
    sign = "#" * alter if alter > 0 else "b" * -alter
    return f"({_DEGREE.get(plain(element.findtext('degree-type'), 20), '')}{sign}{value})"
