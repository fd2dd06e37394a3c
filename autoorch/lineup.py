"""Who is booked: the trade's shorthand ("2.2.2.2 - 4.2.3.1 - tmp+1 - hp - str"), the presets and files of players.

All three become a list of seats, and the seats, put in score order and named, the line-up. `resolve` knows whom of them
a name, an abbreviation or a word for several means.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from autoorch.errors import LineupError, TableError
from autoorch.level import LEVELS, at_level
from autoorch.shorthand import (
    LARGEST_SECTION,
    MOST_ALIKE,
    PERCUSSION,
    Seat,
    parse_shorthand,
    percussion_seats,
    seat_number,
)
from autoorch.tables import Instrument, Tables, spoken
from autoorch.toml import Schema, read

MOST = 200
"""More people than this are a slip of the finger."""

_FILE: Schema = {
    "about?": str,
    "players": [
        {
            "instrument": str,
            "count?": (int, 1, MOST_ALIKE),
            "size?": (int, 1, LARGEST_SECTION),
            "doubles?": [str],
            "low_c?": bool,
            "level?": frozenset(LEVELS),
            "name?": str,
        }
    ],
}


@dataclass(frozen=True, slots=True)
class Player:
    """One wind, percussion or keyboard player, one solo string, or one whole string or choir section.

    Attributes:
        name: "Flute 1", "Horn 3", "Violins I", "Violoncellos", "Timpani", "Harp".
        instrument: the usual one; `doubles`: others that this player can change to ("Flute 3" doubling piccolo).
        size: number of people (1 for winds, 16 for a large first violin section).
        number: seat within its like (Horn 3 -> 3), 0 where there is only one.
        group: bracket name: "Woodwind", "Brass", "Percussion", "Harp and keyboards", "Voices", "Strings".
        low_c: double basses that go down to the low C; the range of `instrument` says so too.
        level: "" or "student"; range and fluency of the instruments say so too.
    """

    name: str
    instrument: Instrument
    size: int = 1
    number: int = 0
    group: str = ""
    doubles: tuple[Instrument, ...] = ()
    low_c: bool = False
    level: str = ""


@dataclass(frozen=True)
class Lineup:
    """All players in score order."""

    name: str
    players: tuple[Player, ...]

    @cached_property
    def by_name(self) -> dict[str, Player]:
        return {player.name: player for player in self.players}


def parse_lineup(text: str, tables: Tables) -> Lineup:
    """The line-up that a preset's name, a shorthand or the path of a TOML file of players stands for.

    Raises:
        LineupError: one line that says what is wrong and what would do.
    """
    wanted = spoken(text)
    for stem in tables.names("lineups"):
        if spoken(stem) == wanted:
            return _read(tables.find(f"lineups/{stem}"), tables, spoken(stem))
    path = Path(text.strip())
    if path.suffix == ".toml":
        return _read(path, tables, path.stem)
    return seated(" ".join(text.split()), parse_shorthand(text, tables), tables)


def presets(tables: Tables) -> tuple[str, ...]:
    """Names of the presets, sorted."""
    return tuple(stem.replace("-", " ") for stem in tables.names("lineups"))


def rows_of(lineup: Lineup, tables: Tables) -> list[dict[str, Any]]:
    """The players as the rows of a file of players, which reads back as the same players."""
    rows = []
    for player in lineup.players:
        percussion = _percussionist(player, tables)
        row: dict[str, Any] = {"instrument": PERCUSSION if percussion else player.instrument.id}
        if player.size != 1:
            row["size"] = player.size
        if player.doubles and not percussion:
            row["doubles"] = [other.id for other in player.doubles]
        if player.low_c:
            row["low_c"] = True
        if player.level:
            row["level"] = player.level
        rows.append(row)
    unnamed = from_rows(lineup.name, rows, tables)
    for row, player, other in zip(rows, lineup.players, unnamed.players, strict=True):
        if player.name != other.name:
            row["name"] = player.name
    return rows


def from_rows(name: str, rows: Sequence[Mapping[str, Any]], tables: Tables) -> Lineup:
    """The line-up of such rows.

    Raises:
        LineupError: for an instrument that is not there or a size that means nothing.
    """
    return seated(name, [_seat(row, tables) for row in rows], tables)


def of_level(lineup: Lineup, level: str, tables: Tables) -> Lineup:
    """The same line-up of players of that level."""
    return from_rows(lineup.name, [row | {"level": level} for row in rows_of(lineup, tables)], tables)


def level_of(lineup: Lineup) -> str:
    """The level that a score for them is held against: a professional's where anybody is one."""
    levels = {player.level or LEVELS[0] for player in lineup.players}
    return LEVELS[0] if LEVELS[0] in levels else min(levels)


def everyone(tables: Tables) -> Lineup:
    """One player of each instrument: for asking whether a name means anything at all."""
    return seated("everyone", [Seat(instrument) for instrument in tables.instruments.values()], tables)


def describe(lineup: Lineup) -> str:
    """The line-up for a reader: its name and number of people, then a line for each group of the score."""
    people = sum(player.size for player in lineup.players)
    lines = [f"{lineup.name}: {people} {'player' if people == 1 else 'players'}"]
    for group in dict.fromkeys(player.group for player in lineup.players):
        told = ", ".join(_told(player) for player in lineup.players if player.group == group)
        lines.append(f"  {group}: {told}")
    return "\n".join(lines)


def seated(name: str, seats: Iterable[Seat], tables: Tables) -> Lineup:
    """The line-up of these seats: sorted into score order, numbered and named.

    Raises:
        LineupError: for no players at all, far too many, or two of one name.
    """
    first_percussion = min(other.order for other in tables.instruments.values() if other.kind == "unpitched")
    ranked = [(first_percussion if seat.percussion else seat.instrument.order, seat) for seat in seats]
    ordered = [seat for _, seat in sorted(ranked, key=lambda pair: pair[0])]
    like = Counter(_label(seat) for seat in ordered if not seat.name)
    taken: Counter[str] = Counter()
    players = []
    for seat in ordered:
        label, number = _label(seat), 0
        if not seat.name and like[label] > 1:
            taken[label] += 1
            number = taken[label]
        players.append(_player(seat, number, tables))
    if not players:
        raise LineupError(f'line-up "{name}": nobody is left to play')
    if (people := sum(player.size for player in players)) > MOST:
        raise LineupError(f'line-up "{name}": {people} people are too many, {MOST} at most')
    twice = sorted(each for each, count in Counter(player.name for player in players).items() if count > 1)
    if twice:
        raise LineupError(f'line-up "{name}": two players are called {twice[0]}; give one of them another name')
    return Lineup(name, tuple(players))


def _player(seat: Seat, number: int, tables: Tables) -> Player:
    instrument, doubles = seat.instrument, seat.doubles
    if seat.percussion:
        starts = percussion_seats(tables)
        instrument = starts[max(number - 1, 0) % len(starts)]
        doubles = _percussion(instrument, tables)
    if instrument.extension:
        low, deep = instrument.normal[0], instrument.extreme[0]
        if seat.low_c:
            instrument = replace(instrument, normal=(deep, instrument.normal[1]))
        else:
            instrument = replace(instrument, extreme=(low, instrument.extreme[1]))
    if seat.name:
        name = seat.name
    elif instrument.family == "strings":
        label = instrument.plural if seat.size > 1 else instrument.player
        name = f"{label} {roman(number)}" if number else label
    else:
        label = _label(seat)
        name = f"{label} {number}" if number else label
    if not seat.percussion:
        instrument = at_level(instrument, seat.level, tables)
        doubles = tuple(at_level(other, seat.level, tables) for other in doubles)
    return Player(name, instrument, seat.size, number, instrument.bracket, doubles, seat.low_c, seat.level)


def _label(seat: Seat) -> str:
    return PERCUSSION.capitalize() if seat.percussion else seat.instrument.player


def _percussion(first: Instrument, tables: Tables) -> tuple[Instrument, ...]:
    """What a percussionist plays besides the first instrument: everything of the family but timpani."""
    family = (other for other in tables.instruments.values() if other.family == PERCUSSION and other.kind != "timpani")
    return tuple(other for other in family if other is not first)


def _percussionist(player: Player, tables: Tables) -> bool:
    return bool(player.doubles) and player.doubles == _percussion(player.instrument, tables)


def _read(path: Path, tables: Tables, name: str) -> Lineup:
    try:
        rows = read(path, _FILE)["players"]
    except TableError as error:
        raise LineupError(f"line-up {error}") from None
    seats = []
    for number, row in enumerate(rows, 1):
        try:
            seat = _seat(row, tables)
        except LineupError as error:
            raise LineupError(f"line-up {path.name}, player {number}: {error}") from None
        seats += [seat] * row.get("count", 1)
    return seated(name, seats, tables)


def _seat(row: Mapping[str, Any], tables: Tables) -> Seat:
    percussion = row["instrument"] == PERCUSSION
    instrument = percussion_seats(tables)[0] if percussion else _instrument(row["instrument"], tables)
    seat = Seat(
        instrument=instrument,
        size=row.get("size", 1),
        doubles=tuple(_instrument(other, tables) for other in row.get("doubles", ())),
        percussion=percussion,
        low_c=row.get("low_c", False),
        level=row.get("level", "").replace(LEVELS[0], ""),
        name=row.get("name", ""),
    )
    if seat.size > 1 and instrument.family not in ("strings", "voice"):
        raise LineupError(f"size is for strings and voices; for more players of {instrument.name} write count")
    if seat.low_c and not instrument.extension:
        raise LineupError(f"low_c is for double basses, not for {instrument.name}")
    if percussion and seat.doubles:
        raise LineupError("percussion already means all of them; leave doubles out")
    return seat


def _instrument(word: str, tables: Tables) -> Instrument:
    found = tables.by_alias.get(spoken(word))
    if found is None:
        raise LineupError(f'no instrument "{word}"; known: {PERCUSSION}, {", ".join(tables.instruments)}')
    return found


def _told(player: Player) -> str:
    notes = [f"{player.size}"] if player.size > 1 else []
    if player.doubles:
        everything = player.instrument.family == PERCUSSION
        notes.append("any" if everything else "also " + ", ".join(other.player for other in player.doubles))
    if player.low_c:
        notes.append("to low C")
    if player.level:
        notes.append(player.level)
    return f"{player.name} ({'; '.join(notes)})" if notes else player.name


def roman(number: int) -> str:
    """1 to 39 as a Roman numeral."""
    tens, ones = divmod(number, 10)
    return "X" * tens + ("", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX")[ones]


_EVERYBODY = ("tutti", "all", "everybody", "orchestra")
_LIST = re.compile(r"\s*(?:[,&/+;]|\band\b)\s*", re.IGNORECASE)
_UNISON = re.compile(r"\s+[aà] ?\d+$", re.IGNORECASE)
_ORDINAL = re.compile(r"^(1st|2nd|3rd|[4-9]th|first|second|third|fourth)\s+", re.IGNORECASE)
_ORDINALS = {"first": 1, "second": 2, "third": 3, "fourth": 4}
_NUMBERS = re.compile(r"^(?:(.*?)(?:\s+|(?=\d)))?(\d+|[ivx]+)(?:\s*[-–]\s*(\d+|[ivx]+))?$", re.IGNORECASE)


def resolve(lineup: Lineup, text: str) -> tuple[Player, ...]:
    """The players that a name means, in score order; () where it means nobody.

    Understood are the players' own names ("Horn 3"), the usual abbreviations ("Fl 1", "Vln I", "Hns 1-2"), words for
    several ("Horns", "Strings", "Low brass", "Tutti") and lists of all these ("Fl. 1, Ob.", "Clarinets and bassoons").
    A doubled instrument ("Piccolo") means the player who doubles it where nobody else has it.
    """
    plain = _UNISON.sub("", re.sub(r"(?<=\d)\.\s*(?=\d)", ",", text.translate(str.maketrans("()", "  ")).strip()))
    found = _called(lineup, plain, "")
    if not found:
        before = ""
        for part in _LIST.split(plain):
            found |= _called(lineup, part, before)
            before = _stem_and_numbers(part)[0] or before
    return tuple(player for player in lineup.players if player.name in found)


def _called(lineup: Lineup, part: str, before: str) -> set[str]:
    """Names of the players that one item of a list means; `before`: the stem of the item before ("Horns 1, 3")."""
    stem, numbers = _stem_and_numbers(part)
    words = stem or before
    exact = {player.name for player in lineup.players if spoken(player.name) == spoken(part)}
    if exact or not words:
        return exact
    if words in _EVERYBODY:
        return {player.name for player in lineup.players}
    for word in (words, " ".join(reversed(words.split())), words.removesuffix("s")):
        for means in (_is_label, _is_group, _doubles):
            picked = _seats([player for player in lineup.players if means(player, word)], numbers)
            if picked:
                return picked
    return set()


def _is_label(player: Player, word: str) -> bool:
    return spoken(player.name.rsplit(" ", 1)[0] if player.number else player.name) == word


def _is_group(player: Player, word: str) -> bool:
    return word in player.instrument.aliases or word in player.instrument.groups


def _doubles(player: Player, word: str) -> bool:
    return any(word in other.aliases or word in other.groups for other in player.doubles)


def _seats(players: list[Player], numbers: tuple[int, ...]) -> set[str]:
    """The players with these numbers (by their own number, else by place), all or none; everybody without numbers."""
    if not numbers:
        return {player.name for player in players}
    own = {player.number: player for player in reversed(players)}
    by_place = dict(enumerate(players, 1))
    found = [own.get(number) or by_place.get(number) for number in numbers]
    return {player.name for player in found if player} if all(found) else set()


def _stem_and_numbers(part: str) -> tuple[str, tuple[int, ...]]:
    """ "Hns. 1-2" -> ("hns", (1, 2)), "2nd Violins" -> ("violins", (2,)), "Celesta" -> ("celesta", ())."""
    part = part.strip().rstrip(".")
    if ordinal := _ORDINAL.match(part):
        word = ordinal[1].lower()
        return spoken(part[ordinal.end() :]), (_ORDINALS.get(word) or int(word[0]),)
    if not (match := _NUMBERS.match(part)):
        return spoken(part), ()
    first = seat_number(match[2])
    last = seat_number(match[3]) if match[3] else first
    return spoken(match[1] or ""), tuple(range(first, min(last, first + MOST) + 1))
