"""A `<note>` element as it stands: its children by what they say, before anything is placed in time."""

from __future__ import annotations

from dataclasses import dataclass, field

from lxml import etree

from autoorch.sketch.guard import plain


@dataclass(slots=True)
class NoteElement:
    """What the children of one `<note>` say; texts as in the file, "" for what is not there.

    Attributes:
        pitch, grace, lyric: these elements, of several lyrics the first; None where there is none.
        notations: all of them, in order.
        duration: None where there is no such element.
        kind, dots, actual, normal: the notated value, in the time of a tuplet.
        chord: it sounds with the note before; rest: it is none; whole_bar: a rest of a bar; silent: a cue.
        tied_from, tied_to: a tie ends, or begins.
    """

    pitch: etree._Element | None = None
    grace: etree._Element | None = None
    lyric: etree._Element | None = None
    notations: list[etree._Element] = field(default_factory=list)
    duration: str | None = None
    kind: str = ""
    dots: int = 0
    actual: str = "1"
    normal: str = "1"
    staff: str | None = None
    voice: str = ""
    chord: bool = False
    rest: bool = False
    whole_bar: bool = False
    silent: bool = False
    tied_from: bool = False
    tied_to: bool = False

    @property
    def ornament(self) -> str:
        """ "acciaccatura" or "appoggiatura", "" for a note with time of its own."""
        if self.grace is None:
            return ""
        return "acciaccatura" if self.grace.get("slash") == "yes" else "appoggiatura"


def read_note(element: etree._Element) -> NoteElement:
    """The children of a `<note>`; those that no sketch keeps are passed over."""
    found = NoteElement()
    for child in element.iterchildren("*"):
        match child.tag:
            case "pitch":
                found.pitch = child
            case "duration":
                found.duration = child.text or ""
            case "type":
                found.kind = child.text or ""
            case "voice":
                found.voice = plain(child.text, 20)
            case "staff":
                found.staff = child.text or ""
            case "chord":
                found.chord = True
            case "dot":
                found.dots += 1
            case "time-modification":
                found.actual = child.findtext("actual-notes") or "1"
                found.normal = child.findtext("normal-notes") or "1"
            case "notations":
                found.notations.append(child)
            case "rest":
                found.rest, found.whole_bar = True, child.get("measure") == "yes"
            case "tie":
                found.tied_from |= child.get("type") == "stop"
                found.tied_to |= child.get("type") == "start"
            case "grace":
                found.grace = child
            case "lyric":
                found.lyric = found.lyric if found.lyric is not None else child
            case "cue":
                found.silent = True
    return found
