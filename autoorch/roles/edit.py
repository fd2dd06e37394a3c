"""A reading as a text file to mend (reading.toml): readable, read back exactly, checked against its sketch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import groupby, pairwise
from pathlib import Path
from typing import Any

from autoorch.errors import BriefError, TableError
from autoorch.instruments import DYNAMICS
from autoorch.roles.model import ROLES, Chord, Line, Moment, Phrase, Reading, Strand
from autoorch.roles.names import key_name, key_of, name_of, pitch_class, quoted
from autoorch.roles.places import Places
from autoorch.sketch.model import Sketch
from autoorch.toml import Schema, parse

_HEAD = """\
# The reading of the sketch. Change what is wrong and give it back: autoorch draft SKETCH --reading reading.toml
# Places are bar, or bar and beat: "9", "9.3", "9.3+1/2" (half a beat after beat 3), "end".
# Every note stands in exactly one line of one strand; to move a note, move its name with its pitch. A line has one note
# at a time. Roles: melody, counterline, bass, pedal, inner, figure, rhythm.
"""
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
            "character?": str,
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
        }
    ],
    "moment?": [{"at": str, "kind": str, "strength": (float, 0, 1)}],
}


def reading_text(reading: Reading, sketch: Sketch) -> str:
    """The reading as TOML."""
    places = Places(sketch)
    rows = [
        _HEAD,
        f"key = {quoted(key_name(reading.key))}",
        f"tempo = {float(reading.tempo)!r}  # quarters a minute",
        f"tempo_proposed = {_bool(reading.tempo_proposed)}",
        *_texts("queries", reading.queries),
        *_texts("notices", reading.notices),
    ]
    for phrase in reading.phrases:
        rows += [
            "",
            "[[phrase]]",
            f"from = {quoted(places.told(phrase.start))}",
            f"to = {quoted(places.told(phrase.end))}",
        ]
        rows += _given(label=phrase.label)
        rows += [f"dynamic = {quoted(phrase.dynamic)}", f"dynamic_proposed = {_bool(phrase.dynamic_proposed)}"]
        rows += _given(character=phrase.character)
    for strand in reading.strands:
        rows += ["", "[[strand]]", f"id = {quoted(strand.id)}", f"role = {quoted(strand.role)}"]
        rows += _given(texture=strand.texture, hint=strand.hint)
        if strand.cuts:
            rows.append(f"cuts = [{', '.join(quoted(places.told(cut)) for cut in strand.cuts)}]")
        for line in strand.lines:
            rows += ["[[strand.line]]", f"id = {quoted(line.id)}", "notes = ["]
            for bar, notes in groupby(line.notes, key=lambda note: places.bar(sketch.by_id[note].onset)):
                told = " ".join(f"{note}({sketch.by_id[note].pitch})" for note in notes)
                rows.append(f"  {quoted(told)},  # bar {bar}")
            rows.append("]")
    rows += ["", "# Chords: pitch classes, root first."]
    for chord in reading.chords:
        rows += [
            "[[chord]]",
            f"from = {quoted(places.told(chord.start))}",
            f"to = {quoted(places.told(chord.end))}",
            f"key = {quoted(key_name(chord.key))}",
            *_given(numeral=chord.numeral),
            f"bass = {quoted(name_of(chord.bass, chord.key))}",
        ]
        rows += [] if chord.root is None else [f"root = {quoted(name_of(chord.root, chord.key))}"]
        rows += [] if chord.third is None else [f"third = {quoted(name_of(chord.third, chord.key))}"]
        for key, classes in (("members", chord.members), ("tendency", chord.tendency)):
            rows += _given(**{key: " ".join(name_of(degree, chord.key) for degree in classes)})
        rows += ["borrowed = true"] if chord.borrowed else []
    for moment in reading.moments:
        rows += ["", "[[moment]]", f"at = {quoted(places.told(moment.onset))}"]
        rows += [f"kind = {quoted(moment.kind)}", f"strength = {float(moment.strength)!r}"]
    return "\n".join(rows) + "\n"


def write_reading(reading: Reading, sketch: Sketch, path: Path) -> None:
    """The reading as a file."""
    path.write_text(reading_text(reading, sketch), "utf-8", newline="\n")


def read_reading(path: Path, sketch: Sketch) -> Reading:
    """An edited reading of this sketch.

    Raises:
        BriefError: where the file can't be read, or breaks a rule of its head; says which key, note or place.
    """
    try:
        text = path.read_text("utf-8")
    except UnicodeDecodeError:
        raise BriefError(f"{path.name}: is no UTF-8 text") from None
    except OSError as error:
        raise BriefError(f"{path.name}: can't be read: {error.strerror}") from None
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
            chords=tuple(_chord(row, places) for row in data.get("chord", ())),
            moments=tuple(
                Moment(places.tick(r["at"]), r["kind"], float(r["strength"])) for r in data.get("moment", ())
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
    )


def _chord(row: Mapping[str, Any], places: Places) -> Chord:
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
    )


def _given(**texts: str) -> list[str]:
    """Rows for those texts that are not empty."""
    return [f"{key} = {quoted(text)}" for key, text in texts.items() if text]


def _texts(key: str, texts: tuple[str, ...]) -> list[str]:
    return [f"{key} = [", *(f"  {quoted(text)}," for text in texts), "]"] if texts else []


def _bool(value: bool) -> str:
    return "true" if value else "false"
