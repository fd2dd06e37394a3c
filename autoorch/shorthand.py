"""The trade's shorthand for a line-up, read strictly: "3(III=picc).2+ca.2.2 - 4.3.3.1 - tmp+3 - hp - 14.12.10.8.6".

Groups stand apart with " - ", " / " or ";", players of a group with ".", "," or "and". The first four numbers are the woodwind
(also run together, "2222"), the next four the brass, five numbers the strings; everything else is named. "2(picc)" doubles,
"2+picc" adds. The words stand in constraints/shorthand.toml, the instruments' abbreviations in constraints/instruments.toml.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Any

from autoorch.errors import LineupError
from autoorch.tables import Instrument, Tables, spoken
from autoorch.toml import Schema

PERCUSSION = "percussion"
EXAMPLE = "2.2.2.2 - 4.2.3.1 - tmp+1 - hp - str"
MOST_ALIKE, LARGEST_SECTION = 24, 60
"""More players of one instrument, or people in one section, are a slip of the finger."""

SCHEMA: Schema = {
    "woodwind": [str],
    "brass": [str],
    "strings": [str],
    "string_words": [str],
    "string_sizes": [(int, 1, LARGEST_SECTION)],
    "voice_size": (int, 1, LARGEST_SECTION),
    "voices": {"*": str},
    "last_of_three": {"*": str},
    "also": {"*": str},
    "unclear": {"*": str},
    "percussion_words": [str],
    "percussion_seats": [str],
}
_ITEM = re.compile(r"^(\d*) *([^()\d][^()]*?)? *(?:\(([^()]*)\))?$")
_DOUBLE = re.compile(r"^(?:(\d+|[ivx]+) *= *|(\d+) *)?(.+)$")
_AND = re.compile(r" +(?:and|&|und|et|e) +", re.IGNORECASE)
_RUN = re.compile(r"^\d{4}$")
_APART = (("-", "–—−/;"), (".", ","))
"""What stands between groups, and between the players of one; and what else people write for it."""
_ROMAN = ("i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x")


@dataclass(frozen=True, slots=True)
class Seat:
    """One player or section before numbering; `percussion`: a percussionist, who plays the whole family but timpani."""

    instrument: Instrument
    size: int = 1
    doubles: tuple[Instrument, ...] = ()
    percussion: bool = False
    low_c: bool = False
    level: str = ""
    name: str = ""


def percussion_seats(tables: Tables) -> tuple[Instrument, ...]:
    """What the first, second … percussionist starts at."""
    return tuple(tables.instruments[each] for each in _words(tables)["percussion_seats"])


def parse_shorthand(text: str, tables: Tables) -> list[Seat]:
    """The seats that a shorthand books, in the order in which it names them.

    Raises:
        LineupError: what can't be understood, and what would do.
    """
    try:
        return _Reader(tables).line(text)
    except LineupError as error:
        raise LineupError(f'line-up "{" ".join(text.split())}": {error}') from None


def _words(tables: Tables) -> Mapping[str, Any]:
    return tables.rule("shorthand", SCHEMA)


class _Reader:
    """Reads one line; remembers whether woodwind and brass have had their turn."""

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self.words = _words(tables)
        self.numbered = ["woodwind", "brass"]
        self.strings_seen = False
        numbered = [kind for name in ("woodwind", "brass", "strings") for kind in self.words[name]]
        self.usual = [tables.instruments[kind] for kind in dict.fromkeys((*numbered, *tables.instruments))]

    def line(self, text: str) -> list[Seat]:
        text = _AND.sub(",", text)
        for sign, others in _APART:
            for other in others:
                text = sign.join(_split(text, other))
        groups = [group.strip() for group in _split(text, "-")]
        if not any(groups):
            raise LineupError(f"is empty; write a preset's name or for example {EXAMPLE}")
        seats = []
        for group in groups:
            if not group:
                raise LineupError("has an empty group between two dashes; write 0 for nobody")
            seats += self.group(group)
        return seats

    def group(self, group: str) -> list[Seat]:
        items = list(group) if _RUN.match(group) else [item.strip() for item in _split(group, ".")]
        if all(re.match(r"^\d+ *(\(|\+|$)", item) for item in items):
            return self.numbers(group, items)
        return [seat for item in items for seat in self.named(item)]

    def numbers(self, group: str, items: list[str]) -> list[Seat]:
        if items == ["0"]:
            if self.numbered:
                self.numbered.pop(0)
            return []
        if len(items) == 5:
            return self.strings([self.size(item) for item in items])
        if len(items) != 4:
            raise LineupError(f'"{group}" is no group: woodwind and brass are four numbers, strings five, nobody is 0')
        if not self.numbered:
            raise LineupError(f'"{group}" is a third group of four numbers; strings have five')
        kinds = self.words[self.numbered.pop(0)]
        return [seat for item, kind in zip(items, kinds, strict=True) for seat in self.counted(item, kind)]

    def counted(self, item: str, kind: str) -> list[Seat]:
        head, *extras = _split(item, "+")
        number, _, inside = self.parts(head)
        seats = self.alike(self.tables.instruments[kind], number or 0)
        other = self.words["last_of_three"].get(kind)
        if other and len(seats) >= 3:
            seats[-1] = Seat(self.tables.instruments[other])
        return self.doubled(seats, inside, head) + self.extras(extras)

    def named(self, item: str) -> list[Seat]:
        head, *extras = _split(item, "+")
        if not head.strip():
            return self.extras(extras)
        number, word, inside = self.parts(head)
        if not word:
            if number == 0 and inside is None:
                return self.extras(extras)
            raise LineupError(f'"{head}" stands among names; say of which instrument there are {number}')
        instrument = self.found(word)
        percussion = word in self.words["percussion_words"]
        if instrument is None or percussion:
            return self.special(number, word, inside, head) + self.extras(extras, percussion)
        seats = self.doubled(self.called(instrument, number, word), inside, head)
        return seats + self.extras(extras, percussion=instrument.kind == "timpani")

    def called(self, instrument: Instrument, number: int | None, word: str) -> list[Seat]:
        """So many players; singers are one seat: of one ("soprano"), so many ("4 sopranos") or a choir's ("sopranos")."""
        if instrument.family != "voice":
            return self.alike(instrument, 1 if number is None else number)
        several = word == spoken(instrument.plural)
        size = number if number is not None else self.words["voice_size"] if several else 1
        self.bounded(size, LARGEST_SECTION, instrument.name)
        return [Seat(instrument, size)] if size else []

    def special(self, number: int | None, word: str, inside: str | None, head: str) -> list[Seat]:
        """Words that are no instrument: percussionists, the strings, the choir."""
        if word in self.words["percussion_words"] and inside is None:
            return self.percussionists(1 if number is None else number)
        if word in self.words["string_words"] and number is None:
            if inside is None:
                return self.strings(list(self.words["string_sizes"]))
            sizes = [self.size(item) for item in _split(inside.replace(",", "."), ".")]
            if len(sizes) != 5:
                raise LineupError(f'"{head}" has {len(sizes)} numbers; strings have five')
            return self.strings(sizes)
        voices = self.words["voices"]
        in_order = [letter for letter in voices if letter in word]
        if len(word) > 1 and list(word) == in_order and number is None and inside is None:
            return [Seat(self.tables.instruments[voices[letter]], self.words["voice_size"]) for letter in word]
        raise self.unknown(word)

    def strings(self, sizes: list[int]) -> list[Seat]:
        if self.strings_seen:
            raise LineupError("the strings stand there twice")
        self.strings_seen = True
        kinds = (self.tables.instruments[kind] for kind in self.words["strings"])
        return [Seat(kind, size) for kind, size in zip(kinds, sizes, strict=True) if size]

    def percussionists(self, number: int) -> list[Seat]:
        self.bounded(number, MOST_ALIKE, PERCUSSION)
        return [Seat(percussion_seats(self.tables)[0], percussion=True)] * number

    def alike(self, instrument: Instrument, number: int) -> list[Seat]:
        self.bounded(number, MOST_ALIKE, instrument.name)
        return [Seat(instrument)] * number

    def extras(self, extras: list[str], percussion: bool = False) -> list[Seat]:
        """What stands behind a plus: an instrument, after timpani also a number of percussionists."""
        seats = []
        for extra in extras:
            number, word, inside = self.parts(extra)
            if not word and number is not None and inside is None and percussion:
                seats += self.percussionists(number)
            elif word in self.words["percussion_words"] and inside is None:
                seats += self.percussionists(1 if number is None else number)
            elif not word:
                raise LineupError(f'"+{extra.strip()}" must name an instrument, such as +picc')
            else:
                instrument = self.instrument(word)
                seats += self.doubled(self.called(instrument, number, word), inside, extra)
        return seats

    def doubled(self, seats: list[Seat], inside: str | None, place: str) -> list[Seat]:
        """ "(III=picc)", "(3picc)": that seat also plays it; "(picc)": the last one; "picc/afl" for two."""
        if inside is None:
            return seats
        seats = list(seats)
        for part in inside.split(","):
            match = _DOUBLE.match(part.strip().lower())
            if match is None:
                raise LineupError(f'"{place.strip()}" has nothing between its brackets')
            numeral = match[1] or match[2]
            number = len(seats) if numeral is None else seat_number(numeral)
            if not 1 <= number <= len(seats):
                raise LineupError(f'"{place.strip()}" has no player {(numeral or "I").upper()} who could double')
            others = tuple(self.instrument(spoken(word)) for word in match[3].split("/"))
            seat = seats[number - 1]
            seats[number - 1] = replace(seat, doubles=seat.doubles + others)
        return seats

    def parts(self, item: str) -> tuple[int | None, str, str | None]:
        """(number, word, what stands in brackets) of "2(picc)", "3perc", "hp"."""
        match = _ITEM.match(item.strip())
        if match is None:
            raise LineupError(f'"{item.strip()}" can\'t be understood; an example: {EXAMPLE}')
        return int(match[1]) if match[1] else None, spoken(match[2] or ""), match[3]

    def size(self, item: str) -> int:
        if not item.strip().isdecimal():
            raise LineupError(f'"{item.strip()}" must be a number of players, such as 14.12.10.8.6')
        self.bounded(int(item), LARGEST_SECTION, "string section")
        return int(item)

    def bounded(self, number: int, most: int, what: str) -> None:
        if number > most:
            raise LineupError(f"{number} is too many for {what}; {most} at most")

    def instrument(self, word: str) -> Instrument:
        found = self.found(word)
        if found is None:
            raise self.unknown(word)
        return found

    def found(self, word: str) -> Instrument | None:
        also = self.words["also"]
        if word in self.words["unclear"]:
            raise LineupError(f'"{word}" can be several things; write {self.words["unclear"][word]}')
        if word in also:
            return self.tables.instruments[also[word]]
        called = (one for one in self.usual if word in (spoken(one.player), spoken(one.plural)))
        return self.tables.by_alias.get(word) or next(called, None)

    def unknown(self, word: str) -> LineupError:
        pieces = word.split()
        if len(pieces) > 1 and all(each in self.words["string_words"] or self.found(each) for each in pieces):
            return LineupError(f'"{word}" needs commas between its names: {", ".join(pieces)}')
        kinds = [one.player.lower() for one in self.usual if word in one.groups and one.family != "voice"]
        if kinds:
            return LineupError(f'"{word}" can be {" or ".join(kinds)}; say how many of which')
        near = get_close_matches(word, [*self.tables.by_alias, *self.tables.names("lineups")], 3, 0.7)
        hint = f"did you mean {' or '.join(near)}?" if near else f"the presets and an example: {self.known()}"
        return LineupError(f'"{word}" is no instrument and no preset; {hint}')

    def known(self) -> str:
        return ", ".join(stem.replace("-", " ") for stem in self.tables.names("lineups")) + f"; {EXAMPLE}"


def seat_number(numeral: str) -> int:
    """3 for "3" and "III"; 0 for what is no number of a seat."""
    numeral = numeral.lower()
    if numeral.isdecimal():
        return int(numeral)
    return _ROMAN.index(numeral) + 1 if numeral in _ROMAN else 0


def _split(text: str, sign: str) -> list[str]:
    """Parts of the text between signs that stand outside brackets.

    Raises:
        LineupError: where a bracket has no partner.
    """
    parts, depth = [""], 0
    for letter in text:
        depth += {"(": 1, ")": -1}.get(letter, 0)
        if depth not in (0, 1):
            raise LineupError("has brackets without a partner or within each other")
        if letter == sign and depth == 0:
            parts.append("")
        else:
            parts[-1] += letter
    if depth:
        raise LineupError("has a bracket without a partner")
    return parts
