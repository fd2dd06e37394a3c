"""Changes of key for verovio: its MusicXML reader takes them from the first part for all staves, so each staff is told its own.

Known of verovio 6.4; right from the file's beginning on, wrong for transposing and unpitched players from the first change.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from lxml import etree

from autoorch.write.elements import Element, Sub

MEI = "{http://www.music-encoding.org/ns/mei}"
Keys = dict[int, dict[int, int]]
"""Index of a bar (long rests count as one) -> staff (from 1) -> fifths, where they change after the first bar;
bars where a change is written that is none for anybody are there too, empty."""


def changes(musicxml: bytes) -> Keys:
    """The changes of key of each staff; none where one part is all, which verovio reads right."""
    score = etree.fromstring(musicxml)
    parts = score.findall("part")
    found: Keys = {}
    staff = 1
    for part in parts if len(parts) > 1 else ():
        staves = int(part.findtext(".//staves") or 1)
        now: int | None = None
        for index, measure in enumerate(_drawn(part)):
            written = measure.findtext("attributes/key/fifths")
            if written is None:
                continue
            before, now = now, int(written)
            if before is not None:
                own = range(staff, staff + staves) if now != before else ()
                found.setdefault(index, {}).update(dict.fromkeys(own, now))
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
    definitions: list[Element] = []
    index = 0
    for element in list(root.iter(f"{MEI}measure", f"{MEI}scoreDef")):
        if element.tag == f"{MEI}scoreDef":
            definitions.append(element)
            continue
        if index in keys:
            _define(element, definitions, keys[index])
        definitions.clear()
        index += 1
    return etree.tostring(root, encoding="unicode")


def _define(measure: Element, definitions: Iterable[Element], staves: Mapping[int, int]) -> None:
    """What changes before a measure is the staves' keys alone, whatever key the definitions since the last one have."""
    for old in definitions:
        for key in old.findall(f"{MEI}keySig"):
            old.remove(key)
    if staves:
        own = etree.Element(f"{MEI}scoreDef")
        measure.addprevious(own)
        group = Sub(own, f"{MEI}staffGrp")
        for staff, fifths in staves.items():
            Sub(Sub(group, f"{MEI}staffDef", n=str(staff)), f"{MEI}keySig", sig=_signature(fifths))


def _signature(fifths: int) -> str:
    return f"{abs(fifths)}{'s' if fifths > 0 else 'f'}" if fifths else "0"
