"""The list of parts of a MusicXML score: names, sounds, MIDI places, and the brackets of families and of like instruments."""

from __future__ import annotations

from lxml import etree

from autoorch.instruments import Instrument
from autoorch.score.model import Part, Score
from autoorch.write.channels import channels, program
from autoorch.write.elements import Element, Sub, text


def part_list(score: Score) -> Element:
    """All parts, in brackets of families and, inside them, of like instruments."""
    parts = score.parts
    found = etree.Element("part-list")
    family = _stretches([part.player.group for part in parts])
    like = _stretches([f"{part.player.group}/{part.player.instrument.id}" for part in parts])
    like = {start: end for start, end in like.items() if family.get(start) != end}
    places = channels(parts)
    for index, part in enumerate(parts):
        for number, stretches, symbol in (("1", family, "bracket"), ("2", like, "square")):
            if index in stretches and stretches[index] > index:
                group = Sub(found, "part-group", number=number, type="start")
                text(group, "group-symbol", symbol)
                if number == "1":
                    text(group, "group-barline", "no" if part.player.instrument.kind == "voice" else "yes")
        _score_part(found, part, places[index])
        for number, stretches in (("2", like), ("1", family)):
            if any(end == index > start for start, end in stretches.items()):
                Sub(found, "part-group", number=number, type="stop")
    return found


def _stretches(names: list[str]) -> dict[int, int]:
    """First -> last index of each run of equal names."""
    found: dict[int, int] = {}
    start = 0
    for index, name in enumerate(names):
        if name != names[start]:
            start = index
        found[start] = index
    return found


def instruments_of(part: Part) -> tuple[Instrument, ...]:
    """The instruments that are played from a part: the usual one, then the others as they come."""
    others = (measure.held for measure in part.measures if measure.held)
    return tuple(dict.fromkeys((part.player.instrument, *others)))


def _score_part(found: Element, part: Part, place: tuple[int, int]) -> None:
    own = Sub(found, "score-part", id=part.id)
    text(own, "part-name", part.name)
    text(own, "part-abbreviation", part.short)
    hands = instruments_of(part)
    for number, instrument in enumerate(hands, start=1):
        score_instrument = Sub(own, "score-instrument", id=f"{part.id}-I{number}")
        text(score_instrument, "instrument-name", instrument.name)
        text(score_instrument, "instrument-sound", instrument.sound)
        if part.player.size > 1:
            text(score_instrument, "ensemble", part.player.size)
        else:
            Sub(score_instrument, "solo")
    port, channel = place
    for number, instrument in enumerate(hands, start=1):
        Sub(own, "midi-device", id=f"{part.id}-I{number}", port=str(port))
        midi = Sub(own, "midi-instrument", id=f"{part.id}-I{number}")
        text(midi, "midi-channel", channel)
        if instrument.gm:
            text(midi, "midi-program", program(part) if number == 1 else instrument.gm)
        else:
            text(midi, "midi-program", 1)
            text(midi, "midi-unpitched", instrument.gm_key + 1)
