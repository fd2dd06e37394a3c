"""What of the sketch must be heard: melody, bass at the chord changes, thirds and tendency notes; the rest at a price."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping

from autoorch.layers.model import MaterialNote
from autoorch.problem.data import ProblemData, Span
from autoorch.problem.terms import Cost, Form, Limit
from autoorch.roles.model import Chord

NAME = "coverage"
_Class = tuple[int, tuple[int, ...]]


def note_classes(data: ProblemData, span: Span) -> dict[_Class, list[MaterialNote]]:
    """The sketch's notes in an assigned span by the set of lines that carry them: (span, lines) -> notes in time order.

    A line may carry a note as it is or in a figure of its own, which then stands for all notes that it was made of.
    """
    carriers: dict[str, list[int]] = defaultdict(list)
    notes: dict[str, MaterialNote] = {}
    for line, profile in span.lines.items():
        for note in profile.notes:
            for source in note.sources:
                if line not in carriers[source]:
                    carriers[source].append(line)
                if source not in notes or note.id == source:
                    notes[source] = note
    found: dict[_Class, list[MaterialNote]] = defaultdict(list)
    for key, lines in carriers.items():
        found[span.index, tuple(lines)].append(notes[key])
    return dict(found)


def _options(data: ProblemData, key: _Class) -> list[int]:
    span, lines = key
    return sorted({o.index for line in lines for o in data.by_line.get((span, line), ())})


def limits(data: ProblemData) -> Iterator[Limit]:
    """Melody and bass are taken by somebody; each third and tendency note that the sketch sounds is heard from somebody."""
    sounding: list[tuple[_Class, MaterialNote, bool]] = []
    for span in data.spans:
        strand = data.strands[span.strand]
        if strand.layer != "assigned":
            continue
        for key, notes in note_classes(data, span).items():
            options = _options(data, key)
            needed = any((span.index, line) in data.required for line in key[1])
            if needed and options:
                terms = tuple((index, 1) for index in options)
                doubled = " doubling" if min(key[1]) > min(span.lines) else ""
                yield Limit(f"{strand.role}{doubled} heard/{data.place(span)}", span.phrase, terms, low=1)
            if options:
                sounding += [(key, note, needed) for note in notes]
    sounding.sort(key=lambda entry: (entry[1].onset, entry[0]))
    yield from _chords(data, sounding)
    yield from _lowest(data, sounding)


def _chords(data: ProblemData, sounding: list[tuple[_Class, MaterialNote, bool]]) -> Iterator[Limit]:
    """One limit for each distinct set of places where a chord's third or tendency note lies."""
    stated = set()
    position = 0
    for chord in data.chords:
        while position < len(sounding) and sounding[position][1].onset < chord.start:
            position += 1
        for degree, kind in _degrees(chord):
            places: set[_Class] = set()
            heard = False
            for key, note, needed in sounding[position:]:
                if note.onset >= chord.end:
                    break
                if note.pitch.midi % 12 == degree:
                    heard = heard or needed
                    places.add(key)
            if heard or not places or frozenset(places) in stated:
                continue
            stated.add(frozenset(places))
            yield _heard(data, kind, places)


def _lowest(data: ProblemData, sounding: list[tuple[_Class, MaterialNote, bool]]) -> Iterator[Limit]:
    """The pitch class of the lowest note that sounds at a chord change is heard from somebody."""
    stated = set()
    active: list[tuple[_Class, MaterialNote, bool]] = []
    position = 0
    for chord in data.chords:
        while position < len(sounding) and sounding[position][1].onset <= chord.start:
            active.append(sounding[position])
            position += 1
        active = [entry for entry in active if entry[1].end > chord.start]
        if not active:
            continue
        degree = min(entry[1].pitch.midi for entry in active) % 12
        places = {key: needed for key, note, needed in active if note.pitch.midi % 12 == degree}
        if any(places.values()) or frozenset(places) in stated:
            continue
        stated.add(frozenset(places))
        yield _heard(data, "lowest note", places)


def _heard(data: ProblemData, what: str, places: Collection[_Class]) -> Limit:
    """Somebody has it in one of the places."""
    options = sorted({index for key in places for index in _options(data, key)})
    phrase = max(data.spans[key[0]].phrase for key in places)
    place = data.place(data.spans[min(places)[0]])
    return Limit(f"{what} heard/{place}", phrase, tuple((index, 1) for index in options), low=1)


def _degrees(chord: Chord) -> list[tuple[int, str]]:
    found = [] if chord.third is None else [(chord.third, "third")]
    return found + [(degree, "tendency note") for degree in chord.tendency if degree != chord.third]


def costs(data: ProblemData) -> Iterator[Cost]:
    """A price on each class of notes that nobody takes."""
    weights = data.tables.rule(NAME)["weights"]
    for span in data.spans:
        strand = data.strands[span.strand]
        if strand.layer != "assigned":
            continue
        for key, notes in note_classes(data, span).items():
            if any((span.index, line) in data.required for line in key[1]):
                continue
            options = _options(data, key)
            if not options:
                continue
            weight = min(
                weights["cap"],
                sum(
                    _times(weights, note, data.ticks) * _worth(weights, data.chord_at(note.onset), strand.role, note)
                    for note in notes
                ),
            )
            form = Form(tuple((index, -1) for index in options), 1)
            yield Cost(NAME, span.phrase, weight, (form,), f"{strand.role} notes left out")


def _times(weights: Mapping[str, int], note: MaterialNote, ticks: int) -> int:
    """A held note that is missing is missed for longer."""
    return min(weights["most_held"], 1 + note.duration // (weights["held"] * ticks))


def _worth(weights: Mapping[str, int], chord: Chord | None, role: str, note: MaterialNote) -> int:
    """Price of leaving one note out."""
    degree = note.pitch.midi % 12
    if chord is not None and role not in ("melody", "counterline"):
        if degree == chord.third:
            return weights["third"]
        if degree in chord.tendency:
            return weights["tendency"]
        if chord.root is not None and degree == chord.root:
            return weights["repeated_root"]
        if chord.root is not None and degree == (chord.root + 7) % 12:
            return weights["fifth"]
    return weights.get(role, weights["other"])
