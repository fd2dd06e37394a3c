"""An edited reading (reading.toml) back in: read exactly, and checked against its sketch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Any

from autoorch.brief import parse_direction
from autoorch.errors import BriefError, TableError
from autoorch.instruments import DYNAMICS
from autoorch.roles.cues import direction_at
from autoorch.roles.model import (
    CADENCES,
    CHARACTERS,
    FOREIGN,
    MOMENTS,
    ROLES,
    Chord,
    Cue,
    Entry,
    Leader,
    Line,
    Moment,
    Phrase,
    Reading,
    Strand,
)
from autoorch.roles.names import key_of, pitch_class
from autoorch.roles.places import Places
from autoorch.sketch.model import Sketch
from autoorch.toml import Schema, parse, text_of

_SCHEMA: Schema = {
    "key": str,
    "tempo": (float, 1, 1000),
    "tempo_proposed": bool,
    "queries?": [str],
    "notices?": [str],
    "phrase": [
        {
            "from": str,
            "to": str,
            "label?": str,
            "dynamic": frozenset(DYNAMICS),
            "dynamic_proposed?": bool,
            "character?": frozenset(CHARACTERS),
            "character_proposed?": bool,
            "section?": str,
            "cadence?": frozenset(CADENCES),
        }
    ],
    "strand": [
        {
            "id": str,
            "role": frozenset(ROLES),
            "texture?": str,
            "hint?": str,
            "cuts?": [str],
            "line": [{"id": str, "notes": [str]}],
        }
    ],
    "chord?": [
        {
            "from": str,
            "to": str,
            "key": str,
            "numeral?": str,
            "bass": str,
            "root?": str,
            "third?": str,
            "members?": str,
            "tendency?": str,
            "borrowed?": bool,
            "foreign?": [str],
        }
    ],
    "moment?": [{"at": str, "kind": frozenset(MOMENTS), "strength": (float, 0, 1), "what?": str}],
    "entry?": [{"subject": (int, 1, 1000), "interval": (int, -127, 127), "notes": [str]}],
    "leader?": [{"from": str, "to": str, "strand": str}],
    "cue?": [{"from": str, "to": str, "staff": (int, 0, 1000), "text": str, "asks?": [str], "weight?": (float, 0, 1)}],
}


def read_reading(path: Path, sketch: Sketch) -> Reading:
    """An edited reading of this sketch.

    Raises:
        BriefError: where the file can't be read, or breaks a rule of its head; says which key, note or place.
    """
    try:
        text = text_of(path)
    except TableError as error:
        raise BriefError(str(error)) from None
    return parse_reading(text, sketch, path.name)


def parse_reading(text: str, sketch: Sketch, file: str = "reading.toml") -> Reading:
    """The same for text at hand.

    Raises:
        BriefError: as `read_reading`.
    """
    try:
        data = parse(text, file, _SCHEMA)
        places = Places(sketch)
        reading = Reading(
            strands=tuple(_strand(row, sketch, places) for row in data["strand"]),
            phrases=tuple(_phrase(row, places) for row in data["phrase"]),
            chords=tuple(_chord(row, sketch, places) for row in data.get("chord", ())),
            moments=tuple(
                Moment(places.tick(r["at"]), r["kind"], float(r["strength"]), r.get("what", ""))
                for r in data.get("moment", ())
            ),
            cues=tuple(_cue(row, sketch, places) for row in data.get("cue", ())),
            entries=tuple(
                Entry(row["subject"], row["interval"], tuple(_notes(row["notes"], sketch)))
                for row in data.get("entry", ())
            ),
            leaders=tuple(
                Leader(places.tick(row["from"]), places.tick(row["to"]), row["strand"])
                for row in data.get("leader", ())
            ),
            key=key_of(data["key"]),
            tempo=float(data["tempo"]),
            tempo_proposed=data["tempo_proposed"],
            queries=tuple(data.get("queries", ())),
            notices=tuple(data.get("notices", ())),
        )
        check_reading(reading, sketch)
    except TableError as error:
        raise BriefError(str(error)) from None
    except BriefError as error:
        raise BriefError(f"{file}: {error}") from None
    return reading


def check_reading(reading: Reading, sketch: Sketch) -> None:
    """Nothing, where every note stands in exactly one line, no line overlaps itself and the phrases cover the sketch.

    Raises:
        BriefError: the first thing that is wrong.
    """
    places = Places(sketch)
    seen: dict[str, str] = {}
    for strand in reading.strands:
        if not strand.lines:
            raise BriefError(f"strand {strand.id} has no line; take the strand out")
        for line in strand.lines:
            for note in line.notes:
                if note in seen:
                    raise BriefError(f"note {note} stands in line {seen[note]} and in line {line.id}; leave it in one")
                seen[note] = line.id
            tones = [sketch.by_id[note] for note in line.notes]
            for one, other in pairwise(tones):
                if one.end > other.onset:
                    raise BriefError(
                        f"bar {places.bar(other.onset)}: {one.id} and {other.id} overlap or are out of order in line {line.id}; "
                        "a line has one note at a time"
                    )
    if missing := [note.id for note in sketch.notes if note.id not in seen]:
        where = places.bar(sketch.by_id[missing[0]].onset)
        raise BriefError(f"note {missing[0]} of bar {where} stands in no line ({len(missing)} in all); put it back")
    for what, ids in (
        ("strand", [s.id for s in reading.strands]),
        ("line", [n.id for s in reading.strands for n in s.lines]),
    ):
        if twice := [name for name in ids if ids.count(name) > 1]:
            raise BriefError(f"two {what}s are called {twice[0]}; give each its own id")
    edges = [(phrase.start, phrase.end) for phrase in reading.phrases]
    if not edges or edges[0][0] != 0 or edges[-1][1] != sketch.end or any(a >= b for a, b in edges):
        raise BriefError("the phrases must run from the first bar to the end")
    for (_, end), (start, _) in pairwise(edges):
        if end != start:
            raise BriefError(
                f"a phrase ends at {places.told(end)} but the next starts at {places.told(start)}; join them"
            )

    there = {strand.id for strand in reading.strands}
    for leader in reading.leaders:
        if leader.strand not in there or leader.start >= leader.end:
            raise BriefError(
                f"the leader from {places.told(leader.start)} wants a strand that is there, {leader.strand} or another, "
                "and an end after its beginning"
            )
    for earlier, later in pairwise(reading.leaders):
        if later.start < earlier.end:
            raise BriefError(f"two strands lead at {places.told(later.start)}; let one of them end there")
    for before, chord in pairwise(reading.chords):
        if chord.start < before.end or chord.start >= chord.end:
            raise BriefError(
                f"the chord at {places.told(chord.start)} begins before the one before it ends; put them in order"
            )


def _strand(row: Mapping[str, Any], sketch: Sketch, places: Places) -> Strand:
    lines = tuple(Line(line["id"], tuple(_notes(line["notes"], sketch))) for line in row["line"])
    cuts = tuple(sorted(places.tick(text) for text in row.get("cuts", ())))
    return Strand(row["id"], row["role"], lines, row.get("texture", ""), row.get("hint", ""), cuts)


def _notes(rows: Iterable[str], sketch: Sketch) -> Iterable[str]:
    for word in (word for row in rows for word in row.split()):
        name, _, pitch = word.partition("(")
        note = sketch.by_id.get(name)
        if note is None:
            raise BriefError(f"the sketch has no note {name}; was the reading made from another sketch?")
        if pitch and pitch.rstrip(")") != str(note.pitch):
            raise BriefError(
                f"{word}: the sketch's note {name} is {note.pitch}; was the reading made from another sketch?"
            )
        yield name


def _phrase(row: Mapping[str, Any], places: Places) -> Phrase:
    return Phrase(
        places.tick(row["from"]),
        places.tick(row["to"]),
        row.get("label", ""),
        row["dynamic"],
        row.get("dynamic_proposed", False),
        row.get("character", ""),
        row.get("character_proposed", False),
        row.get("section", ""),
        row.get("cadence", ""),
    )


def _chord(row: Mapping[str, Any], sketch: Sketch, places: Places) -> Chord:
    foreign = [_foreign(text, sketch) for text in row.get("foreign", ())]
    return Chord(
        places.tick(row["from"]),
        places.tick(row["to"]),
        pitch_class(row["root"]) if "root" in row else None,
        pitch_class(row["third"]) if "third" in row else None,
        pitch_class(row["bass"]),
        tuple(pitch_class(name) for name in row.get("members", "").split()),
        tuple(pitch_class(name) for name in row.get("tendency", "").split()),
        key_of(row["key"]),
        row.get("numeral", ""),
        row.get("borrowed", False),
        tuple(foreign),
    )


def _foreign(text: str, sketch: Sketch) -> tuple[str, str]:
    note, _, kind = text.partition(" ")
    if note not in sketch.by_id or kind not in FOREIGN:
        raise BriefError(f'foreign = "{text}" wants a note of the sketch and one of {", ".join(FOREIGN)}')
    return note, kind


def _cue(row: Mapping[str, Any], sketch: Sketch, places: Places) -> Cue:
    start, end, staff = places.tick(row["from"]), places.tick(row["to"]), row["staff"] - 1
    if start >= end or staff >= len(sketch.staves):
        raise BriefError(
            f'the cue "{row["text"]}" wants to end after it begins, on a staff from 0 to {len(sketch.staves)}'
        )
    asked = [parse_direction(each) for each in row.get("asks", ())]
    if any(each.bars for each in asked):
        raise BriefError(f'the cue "{row["text"]}" has its bars in from and to; leave them out of asks')
    directions = tuple(direction_at(sketch, each, start, end) for each in asked)
    weight = float(row["weight"]) if "weight" in row else None
    return Cue(start, end, staff, row["text"], directions, weight)
