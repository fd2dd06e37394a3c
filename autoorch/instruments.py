"""What is known of each instrument, read from constraints/instruments.toml; all pitches are sounding MIDI numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any, NoReturn

from autoorch import pitch
from autoorch.errors import TableError
from autoorch.pitch import Pitch
from autoorch.toml import Schema, read

DYNAMICS = ("ppp", "pp", "p", "mp", "mf", "f", "ff", "fff")
KINDS = ("wind", "bowed", "plucked", "keys", "mallets", "timpani", "unpitched", "voice")
CLEFS = ("treble", "bass", "alto", "tenor", "treble-8", "percussion")


@dataclass(frozen=True, slots=True)
class Register:
    """A band of an instrument, sounding `low` to `high` (MIDI numbers).

    `strength` goes from -2 (very weak) to 2 (overpowering) at equal written dynamic; `softest` and `loudest` are the
    practical dynamics.
    """

    name: str
    low: int
    high: int
    strength: int
    softest: str
    loudest: str
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fluency:
    """What comes easily: pairs (comfortable, extreme); the table's head says how they were found.

    Attributes:
        repeat_per_s: notes a second, the same note again and again.
        moving_per_s: notes a second, equal moving notes.
        held_s: seconds of one held note; None where nobody breathes.
        stretch_s: seconds of playing without a rest long enough for a breath; None where nobody breathes.
        leap: widest comfortable leap between neighbouring notes, in semitones.
    """

    repeat_per_s: tuple[float, float]
    moving_per_s: tuple[float, float]
    held_s: tuple[float, float] | None
    stretch_s: tuple[float, float] | None
    leap: int
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Instrument:
    """One instrument; all pitches are sounding MIDI numbers.

    Attributes:
        id: key of the table ("horn", "clarinet_bb", "violin").
        name, short: on the page ("Horn in F", "Hn."); `player`, `plural`: who plays it ("Horn", "Horns").
        family: "woodwind", "brass", "percussion", "harp", "keyboard", "voice" or "strings"; `bracket`: its group in
            the score ("Harp and keyboards").
        kind: "wind" (one note at a time, breathes), "bowed", "plucked", "keys", "mallets", "timpani", "unpitched" or
            "voice".
        normal, extreme: (low, high); the whole keyboard for unpitched instruments.
        transposition: (diatonic steps, semitones) from sounding to written (horn in F: (4, 7)).
        clefs: usual clef first ("treble", "bass", "alto", "tenor", "treble-8", "percussion").
        staves: 1 or 2.
        sound: MusicXML 4.0 sound id.
        gm: General MIDI program 1 to 128 (0: channel 10, key `gm_key`); gm_section: the program of a whole section.
        power: table row of constraints/balance.toml.
        notes: most notes at once for one player (1 for winds).
        registers: upwards, without gaps; () for unpitched instruments.
        strings: open strings, lowest first; () for all but strings and guitar.
        drums: (low, high) of each timpano, largest first.
        extension: notes below `normal` need a C extension or a fifth string.
        aliases: names that mean this instrument alone; groups: names that several share, its family's included. Both
            as `spoken` writes them.
        order: place in the score, from 0.
    """

    id: str
    name: str
    short: str
    family: str
    kind: str
    normal: tuple[int, int]
    extreme: tuple[int, int]
    transposition: tuple[int, int]
    clefs: tuple[str, ...]
    staves: int
    sound: str
    gm: int
    power: str
    notes: int
    registers: tuple[Register, ...]
    sources: tuple[str, ...]
    player: str
    plural: str
    bracket: str
    fluency: Fluency
    order: int
    gm_key: int = 0
    gm_section: int = 0
    strings: tuple[int, ...] = ()
    drums: tuple[tuple[int, int], ...] = ()
    extension: bool = False
    aliases: tuple[str, ...] = ()
    groups: tuple[str, ...] = ()

    def written(self, sounding: Pitch) -> Pitch:
        """The pitch on the page of the transposed score."""
        return sounding.transposed(*self.transposition)

    def register(self, midi: int) -> Register | None:
        """The band that holds a sounding pitch (the nearest one where it lies outside all)."""
        if not self.registers:
            return None
        return min(self.registers, key=lambda band: max(band.low - midi, midi - band.high, 0))


def spoken(text: str) -> str:
    """A name as it is compared: "B. Cl." and "b cl" are one; case, dots, hyphens and runs of blanks don't count."""
    for sign, plain in ((".", " "), ("-", " "), ("_", " "), ("♭", "b"), ("♯", "#")):
        text = text.replace(sign, plain)
    return " ".join(text.casefold().split())


_PAIR = [(float, 0, 100)]
_WORDS = [str]
_INSTRUMENTS: Schema = {
    "sources": {"*": str},
    "families": {"*": {"group": str, "aliases": _WORDS}},
    "instrument": {
        "*": {
            "name": str,
            "player?": str,
            "plural": str,
            "short": str,
            "aliases": _WORDS,
            "groups?": _WORDS,
            "family": str,
            "kind": frozenset(KINDS),
            "power": str,
            "normal?": _WORDS,
            "extreme?": _WORDS,
            "extension?": bool,
            "transposition": [(int, -24, 24)],
            "clefs": [frozenset(CLEFS)],
            "staves?": (int, 1, 2),
            "sound": str,
            "gm": (int, 0, 128),
            "gm_key?": (int, 27, 87),
            "gm_section?": (int, 1, 128),
            "notes": (int, 1, 10),
            "strings?": _WORDS,
            "drums?": [_WORDS],
            "registers?": [
                {
                    "name": str,
                    "low": str,
                    "high": str,
                    "strength": (int, -2, 2),
                    "softest": frozenset(DYNAMICS),
                    "loudest": frozenset(DYNAMICS),
                    "sources": _WORDS,
                }
            ],
            "fluency": {
                "repeat_per_s": _PAIR,
                "moving_per_s": _PAIR,
                "held_s?": _PAIR,
                "stretch_s?": _PAIR,
                "leap": (int, 0, 48),
                "sources": _WORDS,
            },
            "sources": _WORDS,
            "note?": str,
        }
    },
}


def read_instruments(path: Path) -> dict[str, Instrument]:
    """Id -> instrument, in the order of the file, which is score order.

    Raises:
        TableError: file and key of the first thing that is wrong.
    """
    data = read(path, _INSTRUMENTS)
    found: dict[str, Instrument] = {}
    owner: dict[str, str] = {}
    for order, (key, row) in enumerate(data["instrument"].items()):
        maker = _Row(path.name, f"instrument.{key}", row)
        family = data["families"].get(row["family"])
        if family is None:
            maker.fail(f"no such family; known: {', '.join(data['families'])}", "family")
        maker.known_sources(data["sources"])
        found[key] = maker.instrument(key, order, family)
        for word in found[key].aliases:
            if owner.setdefault(word, key) != key:
                maker.fail(f'"{word}" already means {owner[word]}', "aliases")
    return found


@dataclass(frozen=True, slots=True)
class _Row:
    """One row of instruments.toml on its way to an Instrument; `place` is the row's key for messages."""

    file: str
    place: str
    row: Mapping[str, Any]

    def fail(self, message: str, key: str) -> NoReturn:
        raise TableError(message, self.file, f"{self.place}.{key}")

    def known_sources(self, sources: Mapping[str, str]) -> None:
        named = [*self.row["sources"], *self.row["fluency"]["sources"]]
        named += [word for band in self.row.get("registers", ()) for word in band["sources"]]
        for word in named:
            if word not in sources:
                self.fail(f'"{word}" is not among the sources at the head of the file', "sources")

    def midi(self, name: str, key: str) -> int:
        try:
            number = pitch.parse(name).midi
        except ValueError as error:
            self.fail(str(error), key)
        if not 0 <= number <= 127:
            self.fail(f"{name} lies outside MIDI's 0 to 127", key)
        return number

    def span(self, names: tuple[str, ...], key: str) -> tuple[int, int]:
        if len(names) != 2:
            self.fail("wants two pitches, lowest first", key)
        low, high = (self.midi(name, key) for name in names)
        if low > high:
            self.fail(f"{names[0]} lies above {names[1]}", key)
        return low, high

    def pair(self, key: str) -> tuple[float, float]:
        values = self.row["fluency"][key]
        if len(values) != 2 or values[0] > values[1]:
            self.fail("wants two numbers, comfortable and extreme, the second not the smaller", f"fluency.{key}")
        return float(values[0]), float(values[1])

    def ranges(self) -> tuple[tuple[int, int], tuple[int, int]]:
        if self.row["kind"] == "unpitched":
            if "normal" in self.row or "extreme" in self.row:
                self.fail("an unpitched instrument has no range", "normal")
            return (0, 127), (0, 127)
        for key in ("normal", "extreme"):
            if key not in self.row:
                self.fail("is missing", key)
        normal, extreme = self.span(self.row["normal"], "normal"), self.span(self.row["extreme"], "extreme")
        if normal[0] < extreme[0] or normal[1] > extreme[1]:
            self.fail("reaches beyond the extreme range", "normal")
        return normal, extreme

    def registers(self, normal: tuple[int, int]) -> tuple[Register, ...]:
        bands = tuple(
            Register(
                band["name"],
                self.midi(band["low"], "registers"),
                self.midi(band["high"], "registers"),
                band["strength"],
                band["softest"],
                band["loudest"],
                band["sources"],
            )
            for band in self.row.get("registers", ())
        )
        for band in bands:
            if band.low > band.high or DYNAMICS.index(band.softest) > DYNAMICS.index(band.loudest):
                self.fail(f'"{band.name}" is upside down', "registers")
        for below, above in pairwise(bands):
            if above.low != below.high + 1:
                self.fail(f'"{above.name}" must start a semitone above the end of "{below.name}"', "registers")
        if self.row["kind"] != "unpitched" and (not bands or bands[0].low > normal[0] or bands[-1].high < normal[1]):
            self.fail("do not cover the normal range", "registers")
        return bands

    def instrument(self, key: str, order: int, family: Mapping[str, Any]) -> Instrument:
        row, fluency = self.row, self.row["fluency"]
        normal, extreme = self.ranges()
        if len(row["transposition"]) != 2:
            self.fail("wants [letters, semitones] from sounding to written", "transposition")
        if not row["clefs"]:
            self.fail("is empty", "clefs")
        if (row["gm"] == 0) != ("gm_key" in row):
            self.fail("gm_key stands exactly where gm is 0 (channel 10)", "gm_key")
        player = row.get("player", row["name"])
        words = (key, row["name"], *row["aliases"])
        shared = (player, row["plural"], *row.get("groups", ()), row["family"], family["group"], *family["aliases"])
        return Instrument(
            id=key,
            name=row["name"],
            short=row["short"],
            family=row["family"],
            kind=row["kind"],
            normal=normal,
            extreme=extreme,
            transposition=(row["transposition"][0], row["transposition"][1]),
            clefs=row["clefs"],
            staves=row.get("staves", 1),
            sound=row["sound"],
            gm=row["gm"],
            power=row["power"],
            notes=row["notes"],
            registers=self.registers(normal),
            sources=row["sources"],
            player=player,
            plural=row["plural"],
            bracket=family["group"],
            fluency=Fluency(
                self.pair("repeat_per_s"),
                self.pair("moving_per_s"),
                self.pair("held_s") if "held_s" in fluency else None,
                self.pair("stretch_s") if "stretch_s" in fluency else None,
                fluency["leap"],
                fluency["sources"],
            ),
            order=order,
            gm_key=row.get("gm_key", 0),
            gm_section=row.get("gm_section", row["gm"]),
            strings=tuple(self.midi(name, "strings") for name in row.get("strings", ())),
            drums=tuple(self.span(drum, "drums") for drum in row.get("drums", ())),
            extension=row.get("extension", False),
            aliases=tuple(dict.fromkeys(spoken(word) for word in words)),
            groups=tuple(dict.fromkeys(spoken(word) for word in shared)),
        )
