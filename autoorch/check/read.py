"""Reads anyone's MusicXML score into parts of timed sounding notes, with what is in force at each of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from pathlib import Path

from lxml import etree

from autoorch.check.limits import Limits
from autoorch.check.marks import Hand, apply_marks
from autoorch.check.model import Bar, Note, Part, Score
from autoorch.check.names import Names, fold
from autoorch.check.walk import Raw, Walked, Walker, text
from autoorch.errors import SketchError
from autoorch.sketch import guard
from autoorch.tables import Instrument

# A full score is larger than a sketch: 50 staves of 1,000 bars.
_LARGEST = guard.Limits(notes=2_000_000, tags=60_000_000)


@dataclass(frozen=True, slots=True)
class _Listed:
    """A `<score-part>`: its name and, by instrument id, what the file says of it: (name, sound)."""

    id: str
    name: str
    instruments: dict[str, tuple[str, str]]


def read_score(path: Path, limits: Limits) -> Score:
    """A MusicXML score (.musicxml, .xml, .mxl), part-wise or time-wise.

    Raises:
        SketchError: where the file is no MusicXML score or holds no note.
    """
    root = _root(path)
    file = guard.plain(path.name)
    names = Names(limits.tables)
    listed = _part_list(root)
    measures = _measures(root)
    order = [part for part in listed if part.id in measures]
    if not order:
        raise SketchError("has no parts", file)
    if not any(measures[part.id] for part in order):
        raise SketchError("has no bars", file)
    walked = [Walker(file).walk(measures[part.id]) for part in order]
    if not any(part.notes for part in walked):
        raise SketchError("has no notes", file)
    score = _frame(file, walked, [m.get("number") or "" for m in measures[order[0].id]], limits)
    for index, (row, found) in enumerate(zip(order, walked, strict=True)):
        score.parts.append(_part(index, row, found, score, names, limits))
    _choirs(score, names, limits)
    for part in score.parts:
        for note in (*part.notes, *part.graces):
            note.at, note.until = score.seconds(note.start), score.seconds(note.end)
    return score


def _root(path: Path) -> etree._Element:
    """The whole score as a tree, once the guards have let it pass."""
    file = guard.plain(path.name)
    data = guard.load(path, _LARGEST)
    if data[:2] == b"PK":
        data = guard.unzip(data, file, _LARGEST)
    if not data.lstrip().startswith(guard.XML_HEADS):
        raise SketchError("is no MusicXML score; export one (.musicxml, .mxl)", file)
    root = None
    for event, element in guard.elements(data, file, _LARGEST, ()):
        root = element if event == "start" and root is None else root
    if root is None:
        raise SketchError("is no MusicXML score; export one (.musicxml, .mxl)", file)
    return root


def _part_list(root: etree._Element) -> list[_Listed]:
    found = []
    for part in root.iterfind("part-list/score-part"):
        instruments = {
            inner.get("id") or "": (guard.plain(text(inner, "instrument-name"), 80), text(inner, "instrument-sound"))
            for inner in part.iterfind("score-instrument")
        }
        name = guard.plain(text(part, "part-name") or text(part, "part-abbreviation"), 80)
        found.append(_Listed(part.get("id") or "", name, instruments))
    return found


def _measures(root: etree._Element) -> dict[str, list[etree._Element]]:
    if root.tag == "score-partwise":
        return {part.get("id") or "": part.findall("measure") for part in root.findall("part")}
    found: dict[str, list[etree._Element]] = {}
    for index, measure in enumerate(root.findall("measure")):
        for part in measure.findall("part"):
            bars = found.setdefault(part.get("id") or "", [])
            while len(bars) < index:
                bars.append(etree.Element("measure"))
            part.set("number", measure.get("number") or "")
            bars.append(part)
    return found


def _frame(file: str, walked: Sequence[Walked], numbers: list[str], limits: Limits) -> Score:
    """Bars and tempos, from the longest of all parts in each measure."""
    count = max(len(part.lengths) for part in walked)
    denominators = {1}
    for part in walked:
        denominators.update(raw.at.denominator for raw in part.notes)
        denominators.update(raw.length.denominator for raw in part.notes)
        denominators.update(length.denominator for length in part.lengths)
    ticks = lcm(*denominators)
    if ticks > 10**9:
        raise SketchError("its note values have no common unit: the divisions are broken", file)
    times = {measure: (beats, unit) for part in reversed(walked) for measure, beats, unit in part.times}
    bars, start, time = [], 0, (4, 4)
    for index in range(count):
        time = times.get(index, time)
        length = max((part.lengths[index] for part in walked if index < len(part.lengths)), default=Fraction(0))
        number = numbers[index] if index < len(numbers) else ""
        beat = max(1, 4 * ticks // max(1, time[1]))
        bars.append(Bar(number or str(index + 1), start, int(length * ticks), beat))
        start += int(length * ticks)
    score = Score(file, ticks, bars, [], [], [])
    marks: dict[int, float] = {}
    for part in reversed(walked):
        for mark in part.marks:
            if mark.kind == "tempo" and 1 <= float(mark.text) <= 1000:
                marks[bars[mark.measure].start + round(mark.at * ticks)] = float(mark.text)
    if not marks:
        usual = limits.of("reading")["quarters_a_minute"]
        score.notices.append(f"no tempo mark: {usual:g} quarters a minute assumed")
        marks[0] = float(usual)
        score.timed = False
    first = min(marks)
    score.tempos = sorted(({0: marks[first]} | marks).items())
    return score


def _part(index: int, listed: _Listed, walked: Walked, score: Score, names: Names, limits: Limits) -> Part:
    known = {key: names.by_sound(sound) or names.by_name(name) for key, (name, sound) in listed.instruments.items()}
    first = _instrument(listed, names)
    several = limits.of("reading")["several"]
    players = names.players(listed.name, several) if first is None or first.kind == "wind" else 1
    part = Part(index, listed.name or f"part {index + 1}", first, players)
    heads = []
    for raw in walked.notes:
        note = _note(raw, score, known.get(raw.instrument) if len(known) > 1 else None, first, names)
        if note.pitch < 0:
            note.stroke = listed.instruments.get(raw.instrument, (listed.name, ""))[0] or listed.name
        heads.append((note, raw))
    merged = _tied(heads)
    part.notes = sorted((n for n in merged if not n.grace), key=lambda n: (n.start, n.pitch, n.voice))
    part.graces = [note for note in merged if note.grace]
    hand = Hand(names, limits)
    apply_marks(part, walked.marks, score, hand)
    _octave(part, walked, score, limits)
    if first is None and any(note.pitch >= 0 for note in part.notes):
        score.notices.append(f"{part.name}: instrument not recognised, its range and fluency are not checked")
    return part


def _instrument(listed: _Listed, names: Names) -> Instrument | None:
    """By the stave's name, made exact by the sound id ("Clarinet" with the A clarinet's); by sound or instrument name alone
    where the stave's name says nothing."""
    by_name = names.by_name(listed.name)
    sounds = [found for _, sound in listed.instruments.values() if (found := names.by_sound(sound)) is not None]
    if by_name is None:
        labels = [found for name, _ in listed.instruments.values() if (found := names.by_name(name)) is not None]
        return next(iter((*sounds, *labels)), None)
    stem = by_name.id.split("_")[0]
    return next((found for found in sounds if found.id.split("_")[0] == stem), by_name)


def _note(raw: Raw, score: Score, own: Instrument | None, first: Instrument | None, names: Names) -> Note:
    start = score.bars[raw.measure].start + int(raw.at * score.ticks)
    instrument = own or first
    if instrument is not None and raw.pitch >= 0:
        instrument = names.pitched_in(instrument, raw.semitones)
    return Note(
        start,
        start + int(raw.length * score.ticks),
        raw.pitch,
        raw.letter,
        raw.alter,
        raw.sounding,
        raw.voice,
        raw.staff,
        grace=raw.grace,
        instrument=instrument,
        slurred=raw.slurred,
        breath=raw.breath,
        pizz=raw.snap,
        tremolo=raw.tremolo,
        harmonic=raw.harmonic,
        rolled=raw.rolled,
        clef=raw.clef,
    )


def _tied(notes: list[tuple[Note, Raw]]) -> list[Note]:
    """Ties merged: a note that is tied to the same pitch where it ends grows by it."""
    open_: dict[int, Note] = {}
    found: list[Note] = []
    for note, raw in sorted(notes, key=lambda pair: (pair[0].start, not pair[0].grace)):
        before = open_.get(note.pitch)
        if raw.tie_in and before is not None and before.end == note.start and not note.grace:
            before.end = note.end
            before.slurred, before.breath = note.slurred, note.breath
            if not raw.tie_out:
                del open_[note.pitch]
            continue
        found.append(note)
        if raw.tie_out and not note.grace:
            open_[note.pitch] = note
    return found


def _octave(part: Part, walked: Walked, score: Score, limits: Limits) -> None:
    """Octave transposers written without a transposition in the file (common): sounded where they sound."""
    instrument = part.instrument
    if instrument is None or walked.transposes or instrument.transposition[1] % 12 or not instrument.transposition[1]:
        return
    pitches = [note.pitch for note in part.notes if note.pitch >= 0]
    if not pitches:
        return
    low, high = instrument.normal
    shift = -instrument.transposition[1]
    outside = sum(not low <= pitch <= high for pitch in pitches)
    moved = sum(not low <= pitch + shift <= high for pitch in pitches)
    if moved < outside:
        for note in (*part.notes, *part.graces):
            if note.pitch >= 0:
                note.pitch += shift
                note.sounding = note.sounding.shifted(shift // 12) if note.sounding else None
        score.notices.append(
            f"{part.name}: no transposition in the file, taken to sound where {instrument.name} sounds"
        )


def _choirs(score: Score, names: Names, limits: Limits) -> None:
    """Sections or single players: strings and voices by what else is in the score; "Bass" under strings is a double bass."""
    reading = limits.of("reading")
    ids = {part.instrument.id for part in score.parts if part.instrument}
    if "soprano" not in ids and ids & {"violin", "viola", "cello"}:
        for part in score.parts:
            if part.instrument is not None and part.instrument.kind == "voice":
                other = names.under_strings(part.instrument)
                if other is not part.instrument and "tenor" not in ids:
                    _rename(part, other)
    strings = [part for part in score.parts if part.kind == "bowed"]
    basses = any(part.instrument is not None and part.instrument.id == "double_bass" for part in strings)
    others = len(score.parts) - len(strings)
    chamber = not basses and len(strings) <= reading["solo_strings"] and others <= reading["solo_others"]
    chamber = chamber and not any(part.kind in ("voice", "timpani") for part in score.parts)
    for part in score.parts:
        alone = "solo" in fold(part.name).split() or (chamber and names.players(part.name, 0) == 1)
        if part.kind in ("bowed", "voice"):
            part.players = 1 if alone else 0


def _rename(part: Part, instrument: Instrument) -> None:
    for note in (*part.notes, *part.graces):
        if note.instrument is part.instrument:
            note.instrument = instrument
    part.instrument = instrument
