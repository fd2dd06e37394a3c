"""Written cues of the sketch ("2 Fl 8va", "Str. trem.", "solo Cl") as directions with their place and extent.

The words stand in constraints/cues.toml and names.toml, in the trade's English, German, French and Italian. A cue for players
holds to the next one on its staff or to the phrase's end, a way of playing to the next one or to the section's end. What
asks for something but is not understood is kept as text.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from autoorch.brief import ROLES as BRIEF_ROLES
from autoorch.brief import STRAND_ROLES, TECHNIQUES, Bars, Brief, Direction, Shape
from autoorch.instruments import Instrument
from autoorch.lineup import Lineup, everyone, resolve
from autoorch.roles.model import Cue, Phrase, Reading, Strand
from autoorch.roles.proposals import folded
from autoorch.sketch.model import Mark, Sketch
from autoorch.tables import Tables
from autoorch.toml import Schema

_LONGEST = 4
"""Words that one entry of the tables has at most."""
_ALONE = ("timpani", "unpitched", "mallets", "keys", "plucked")
"""Kinds of instrument that are called by one name, however many there are."""
_ROMAN = {"i": 1, "ii": 2, "iii": 3, "iv": 4}
SCHEMA: Schema = {
    "groups": {"*": [str]},
    "weight": {"*": (float, 0, 1)},
    "techniques": {f"{name}?": [str] for name in TECHNIQUES},
    "octaves": {f"{octave}?": [str] for octave in (-3, -2, -1, 1, 2, 3)},
    "roles": {f"{name}?": [str] for name in BRIEF_ROLES},
    "words": {"with": [str], "manner": [str], "kept": [str], "never": [str]},
}


@dataclass(frozen=True)
class Words:
    """The vocabulary: patterns over folded words, each with what it means, tried in this order.

    Attributes:
        entries: (kind, meaning, pattern); kind is "group", "player", "technique", "octave", "role", "weight", "with",
            "manner" or "kept".
        never: words that are no instrument where they stand alone.
    """

    entries: tuple[tuple[str, str, re.Pattern[str]], ...]
    weight: Mapping[str, float]
    never: frozenset[str]


def vocabulary(tables: Tables) -> Words:
    """All words of constraints/cues.toml, and the instruments of names.toml.

    Raises:
        TableError: for an unknown, missing or absurd key.
    """
    table = tables.rule("cues", SCHEMA)
    instruments = tables.rule("names")["instruments"]
    rows: list[tuple[str, str, Iterable[str]]] = [("weight", word, (word,)) for word in table["weight"]]
    rows += [("technique", name, words) for name, words in table["techniques"].items()]
    rows += [("octave", octave, words) for octave, words in table["octaves"].items()]
    rows += [("role", name, words) for name, words in table["roles"].items()]
    rows += [("group", name, words) for name, words in table["groups"].items()]
    rows += [("player", key, instruments[key]) for key in tables.instruments if key in instruments]
    rows += [(kind, kind, table["words"][kind]) for kind in ("with", "kept", "manner")]
    entries = tuple((kind, name, _pattern(words)) for kind, name, words in rows if words)
    return Words(entries, table["weight"], frozenset(table["words"]["never"]))


def _pattern(words: Iterable[str]) -> re.Pattern[str]:
    return re.compile("|".join("[a-z]*".join(re.escape(piece) for piece in word.split("*")) for word in words))


@dataclass
class Meaning:
    """What a text asks for.

    Attributes:
        names: players and groups as a brief names them.
        rest: words that were not understood.
        speaks: at least one word is of the trade, so that the text is a cue.
    """

    names: list[str] = field(default_factory=list)
    role: str = ""
    octave: int | None = None
    technique: str = ""
    weight: float | None = None
    rest: list[str] = field(default_factory=list)
    speaks: bool = False

    @property
    def understood(self) -> bool:
        return self.speaks and not self.rest


def understand(text: str, words: Words, tables: Tables) -> Meaning:
    """Read one text from left to right, the longest entry first."""
    found = Meaning()
    tokens = re.findall(r"\d+\.(?!\d)|\d+(?:va|vb|ve|ma|mb|ba)\b|[a-z]+\d*|\d+|\+", _marked(text))
    count: int | None = None  # a number that stands before the players it counts, negative for "1." (the first)
    k = 0
    while k < len(tokens):
        size, kind, name = _longest(tokens[k:], words)
        token = tokens[k]
        if token.endswith(".") or (token.isdigit() and not (found.names and kind == "octave" and found.technique)):
            if kind == "octave" and found.names and token in ("8", "15"):
                found.octave = int(name)
            elif (
                found.names
                and not token.endswith(".")
                and (k + 1 == len(tokens) or not _is_player(tokens[k + 1 :], words))
            ):
                found.names[-1] = _numbered(found.names[-1], int(token))
            else:
                count = -int(token[:-1]) if token.endswith(".") else int(token)
            k += 1
            continue
        if token in _ROMAN and found.names:
            found.names[-1] = _numbered(found.names[-1], _ROMAN[token])
            k += 1
            continue
        if kind in ("player", "group"):
            found.names.append(_counted(name if kind == "group" else _called(tables.instruments[name]), count))
            count = None
        elif kind == "technique":
            found.technique = name
        elif kind == "octave":
            found.octave = int(name)
        elif kind == "role":
            found.role = name
        elif kind == "weight":
            found.weight = words.weight[name]
        elif kind in ("", "kept"):
            found.rest.append(" ".join(tokens[k : k + size]))
        found.speaks |= kind in ("player", "group", "technique", "role", "weight", "octave", "kept")
        k += size
    if found.technique == "solo" and len(found.names) == 1 and not found.names[0][-1].isdigit():
        found.names = [f"{found.names[0]} 1"] if resolve(everyone(tables), f"{found.names[0]} 1") else found.names
    alone = folded(text) in words.never
    found.speaks &= not alone and not (found.role and not found.names)
    return found


def _called(instrument: Instrument) -> str:
    """What a brief calls its players: "Flutes", "Timpani"."""
    return instrument.name if instrument.kind in _ALONE else instrument.groups[1].capitalize()


def _marked(text: str) -> str:
    """Folded, but with the signs that mean something here: "1." (the first) and "+"."""
    kept = re.sub(r"(\d+)\.(?=\s*[^\W\d])", r"\1§", text)
    kept = re.sub(r"(\d)\s*[-–+&,/]\s*(?=\d)", r"\1 ", kept)
    pieces = [folded(piece) for piece in kept.replace("+", " + ").split("§")]
    return ". ".join(pieces)


def _longest(tokens: Sequence[str], words: Words) -> tuple[int, str, str]:
    """(tokens taken, kind, meaning) of the longest entry at the beginning; (1, "", "") where there is none."""
    for size in range(min(_LONGEST, len(tokens)), 0, -1):
        said = " ".join(tokens[:size])
        for kind, name, pattern in words.entries:
            if pattern.fullmatch(said):
                return size, kind, name
    return 1, "", ""


def _is_player(tokens: Sequence[str], words: Words) -> bool:
    return _longest(tokens, words)[1] in ("player", "group")


def _counted(base: str, count: int | None) -> str:
    """ "Flutes", "Flutes 1-2" for two of them, "Flutes 2" for the second."""
    if count is None:
        return base
    return f"{base} {-count}" if count < 0 else f"{base} 1" if count == 1 else f"{base} 1-{count}"


def _numbered(name: str, number: int) -> str:
    """The name with one more number behind it: "Horns 1", "Horns 1-2"."""
    return f"{name}-{number}" if name[-1].isdigit() and "-" not in name else f"{name} {number}"


def find_cues(sketch: Sketch, phrases: Sequence[Phrase], strands: Sequence[Strand], tables: Tables) -> tuple[Cue, ...]:
    """The cues among the words of the sketch, in order of time."""
    words = vocabulary(tables)
    said = [(mark, understand(mark.value, words, tables)) for mark in sketch.marks if mark.kind == "words"]
    cues = [(mark, meaning) for mark, meaning in said if meaning.speaks]
    found = []
    for mark, meaning in cues:
        start, end = mark.onset, _end(sketch, mark, meaning, cues, phrases)
        if start >= end:
            continue
        directions: tuple[Direction, ...] = ()
        if meaning.understood:
            directions = tuple(_directions(sketch, mark, meaning, start, end, strands, tables))
        weight = meaning.weight if meaning.understood and not meaning.names else None
        found.append(Cue(start, end, mark.staff, mark.value, directions, weight))
    return tuple(sorted(found, key=lambda cue: (cue.start, cue.staff, cue.text)))


def _end(
    sketch: Sketch, mark: Mark, meaning: Meaning, cues: Sequence[tuple[Mark, Meaning]], phrases: Sequence[Phrase]
) -> int:
    """Where a cue stops to hold; one just before a joint belongs to what follows."""
    bar = sketch.bar_at(mark.onset)
    reach = mark.onset + 4 * sketch.ticks // bar.metre[1]
    k = next((k for k, phrase in enumerate(phrases) if phrase.end > reach), len(phrases) - 1)
    if not meaning.names and meaning.weight is None:
        while k + 1 < len(phrases) and phrases[k + 1].section == phrases[k].section:
            k += 1
    after = [
        other.onset
        for other, means in cues
        if other.onset > mark.onset
        and other.staff == mark.staff
        and (
            (means.names or means.weight is not None)
            if meaning.names or meaning.weight is not None
            else means.technique
        )
    ]
    return min([phrases[k].end if phrases else sketch.end, *after])


def _directions(
    sketch: Sketch, mark: Mark, meaning: Meaning, start: int, end: int, strands: Sequence[Strand], tables: Tables
) -> Iterable[Direction]:
    """One direction for the role that leads on the cue's staff; for whole groups one for each role there."""
    if not (meaning.names or meaning.technique or meaning.octave is not None):
        return
    roles = [meaning.role] if meaning.role else _roles(sketch, mark, start, end, strands)
    several = not meaning.names or any(len(resolve(everyone(tables), name)) > _LONGEST for name in meaning.names)
    for role in roles if several else roles[:1]:
        asked = Direction(role=role, prefer=tuple(meaning.names), octave=meaning.octave, technique=meaning.technique)
        yield direction_at(sketch, asked, start, end)


def _roles(sketch: Sketch, mark: Mark, start: int, end: int, strands: Sequence[Strand]) -> list[str]:
    """The brief's roles that sound on the mark's staff there, the one that leads first; [""] where none does."""
    order = ("melody", "counterline", "bass", "figure", "harmony")
    found = set()
    for strand in strands:
        for line in strand.lines:
            notes = (sketch.by_id[note] for note in line.notes)
            if any(start <= n.onset < end and mark.staff in (-1, n.staff) for n in notes):
                found.add(next(role for role in order if strand.role in STRAND_ROLES[role]))
    return [role for role in order if role in found] or [""]


def bars_of(sketch: Sketch, start: int, end: int) -> Bars:
    """The run of bars and beats from `start` to `end` (ticks), as a brief names it."""
    first, last = sketch.bar_at(start), sketch.bar_at(max(start, end - 1))
    numbers = [bar.number for bar in sketch.bars]

    def name(index: int) -> str:
        return numbers[index] if numbers.count(numbers[index]) == 1 else str(index + 1)

    unit = 4 * sketch.ticks
    from_beat = 1 + (start - first.onset) * first.metre[1] / unit
    to_beat = None if end >= last.end else (end - last.onset) * last.metre[1] / unit
    return Bars(name(first.index), name(last.index), from_beat, to_beat)


def direction_at(sketch: Sketch, direction: Direction, start: int, end: int) -> Direction:
    """The direction over its place, with where it comes from."""
    return replace(direction, bars=bars_of(sketch, start, end), origin=f"sketch, bar {sketch.bar_at(start).number}")


def heeded(
    brief: Brief, sketch: Sketch, reading: Reading, lineup: Lineup, tables: Tables
) -> tuple[Brief, tuple[str, ...]]:
    """The brief with what the sketch's cues ask for before its own, and a line for each cue that asks for nobody there."""
    directions, shapes, missing = [], [], []
    for cue in reading.cues:
        if cue.weight is not None:
            shapes.append(Shape(bars_of(sketch, cue.start, cue.end), cue.weight))
        for direction in cue.directions:
            kept: dict[str, Any] = {}
            for wish in ("must", "prefer", "only", "avoid"):
                names = getattr(direction, wish)
                kept[wish] = tuple(name for name in names if resolve(lineup, name))
                gone = sorted(set(names) - set(kept[wish]))
                if gone and wish != "avoid":
                    missing.append(
                        f'{direction.origin}: "{cue.text}" asks for {", ".join(gone)}; {lineup.name} has none'
                    )
            asked = replace(direction, **kept)
            if asked.must or asked.prefer or asked.only or asked.avoid or (asked.technique and not direction.prefer):
                directions.append(asked)
    return replace(brief, directions=(*directions, *brief.directions), shapes=(*shapes, *brief.shapes)), tuple(
        dict.fromkeys(missing)
    )
