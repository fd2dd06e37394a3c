"""The words of written cues: one text read from left to right against the vocabulary of constraints/cues.toml and names.toml."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from autoorch.brief import ROLES, TECHNIQUES
from autoorch.instruments import Instrument
from autoorch.lineup import everyone, resolve
from autoorch.roles.proposals import folded
from autoorch.tables import Tables
from autoorch.toml import Schema

_LONGEST = 4
"""Words that one entry of the tables has at most."""
_ALONE = ("timpani", "unpitched", "mallets", "keys", "plucked")
"""Kinds of instrument that are called by one name, however many there are."""
_ROMAN = {"i": 1, "ii": 2, "iii": 3, "iv": 4}
SCHEMA: Schema = {
    "groups": {"*": [str]},
    "mixed": {"names": [str]},
    "weight": {"*": (float, 0, 1)},
    "techniques": {f"{name}?": [str] for name in TECHNIQUES},
    "octaves": {f"{octave}?": [str] for octave in (-3, -2, -1, 1, 2, 3)},
    "roles": {f"{name}?": [str] for name in ROLES},
    "words": {name: [str] for name in ("with", "manner", "without", "tacet", "kept", "never")},
}


@dataclass(frozen=True)
class Words:
    """The vocabulary: patterns over folded words, each with what it means, tried in this order.

    Attributes:
        entries: (kind, meaning, pattern); kind is "group", "player", "technique", "octave", "role", "weight", "with",
            "manner", "without", "tacet" or "kept".
        never: words that are no instrument where they stand alone.
        mixed: groups that can take more than one role.
    """

    entries: tuple[tuple[str, str, re.Pattern[str]], ...]
    weight: Mapping[str, float]
    never: frozenset[str]
    mixed: frozenset[str]


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
    rows += [(kind, kind, table["words"][kind]) for kind in ("with", "without", "tacet", "kept", "manner")]
    entries = tuple((kind, name, _pattern(words)) for kind, name, words in rows if words)
    return Words(entries, table["weight"], frozenset(table["words"]["never"]), frozenset(table["mixed"]["names"]))


def _pattern(words: Iterable[str]) -> re.Pattern[str]:
    return re.compile("|".join("[a-z]*".join(re.escape(piece) for piece in word.split("*")) for word in words))


@dataclass
class Meaning:
    """What a text asks for.

    Attributes:
        names: players and groups as a brief names them.
        silent: they are to rest.
        rest: words that were not understood.
        speaks: at least one word is of the trade, so that the text is a cue.
    """

    names: list[str] = field(default_factory=list)
    silent: bool = False
    role: str = ""
    octave: int | None = None
    technique: str = ""
    weight: float | None = None
    rest: list[str] = field(default_factory=list)
    speaks: bool = False

    @property
    def understood(self) -> bool:
        """Nothing is left over, and who is to rest is said without anything to play."""
        idle = bool(self.names) and not (self.technique or self.role) and self.octave is None and self.weight is None
        return self.speaks and not self.rest and (idle or not self.silent)


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
        elif kind in ("without", "tacet"):
            found.silent = True
        elif kind in ("", "kept"):
            found.rest.append(" ".join(tokens[k : k + size]))
        found.speaks |= kind in ("player", "group", "technique", "role", "weight", "octave", "tacet", "kept")
        k += size
    if found.technique == "solo" and len(found.names) == 1 and not found.names[0][-1].isdigit():
        first = _numbered(found.names[0], 1)
        found.names = [first] if resolve(everyone(tables), first) else found.names
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
    return _numbered(base, abs(count) if count < 0 else 1) if count < 2 else f"{base} 1-{count}"


def _numbered(name: str, number: int) -> str:
    """The name with one more number behind it: "Horn 1", "Horns 1-2"."""
    if name[-1].isdigit() and "-" not in name:
        stem, _, first = name.rpartition(" ")
        return f"{stem}s {first}-{number}"
    return f"{name.removesuffix('s')} {number}"
