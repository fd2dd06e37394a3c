"""Changes of key for verovio: its MusicXML reader takes them from the first part for all staves, so each staff is told its own.

Known of verovio 6.4; right from the file's beginning on, wrong for transposing and unpitched players from the first change.
"""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree

from autoorch.write.elements import Element, Sub

MEI = "{http://www.music-encoding.org/ns/mei}"
Keys = dict[int, dict[int, int]]
"""Index of a bar (long rests count as one) -> staff (from 1) -> fifths, where they change after the first bar."""


def changes(musicxml: bytes) -> Keys:
    """The changes of key of each staff; none where one part is all, which verovio reads right."""
    score = etree.fromstring(musicxml)
    parts = score.findall("part")
    found: Keys = {}
    staff = 1
    for part in parts if len(parts) > 1 else ():
        staves = int(part.findtext(".//staves") or 1)
        for index, measure in enumerate(_drawn(part)):
            fifths = measure.findtext("attributes/key/fifths")
            if index and fifths is not None:
                found.setdefault(index, {}).update(dict.fromkeys(range(staff, staff + staves), int(fifths)))
        staff += staves
    return found


def _drawn(part: Element) -> Iterator[Element]:
    """The bars of a part without those that a long rest takes in."""
    hidden = 0
    for measure in part.iter("measure"):
        if not hidden:
            yield measure
            hidden = int(measure.findtext("attributes/measure-style/multiple-rest") or 1)
        hidden -= 1


def with_keys(mei: str, keys: Keys) -> str:
    """Verovio's own MEI of the score with these changes."""
    root = etree.fromstring(mei.encode())
    measures = list(root.iter(f"{MEI}measure"))
    for index, staves in keys.items():
        before = _definition(measures[index])
        for old in before.findall(f"{MEI}keySig"):
            before.remove(old)
        group = Sub(before, f"{MEI}staffGrp")
        for staff, fifths in staves.items():
            Sub(Sub(group, f"{MEI}staffDef", n=str(staff)), f"{MEI}keySig", sig=_signature(fifths))
    return etree.tostring(root, encoding="unicode")


def _definition(measure: Element) -> Element:
    """What stands before a measure and says what changes there; made where nothing does."""
    before = measure.getprevious()
    if before is None or before.tag != f"{MEI}scoreDef":
        before = etree.Element(f"{MEI}scoreDef")
        measure.addprevious(before)
    return before


def _signature(fifths: int) -> str:
    return f"{abs(fifths)}{'s' if fifths > 0 else 'f'}" if fifths else "0"
