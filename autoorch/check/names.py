"""Which instrument a name or a sound id means, in the languages of printed scores, and how many players share its stave."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from typing import Any

from autoorch.check.limits import NAMES
from autoorch.tables import Instrument, Tables

_ROMAN = {"i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5, "vi": 6, "vii": 7, "viii": 8}


def fold(text: str) -> str:
    """Small letters without accents, dots, hyphens or runs of blanks: the form in which names are compared."""
    text = text.replace("♭", "b").replace("♯", "#").replace("ß", "ss")
    plain = unicodedata.normalize("NFKD", text.casefold())
    kept = "".join(sign for sign in plain if not unicodedata.combining(sign))
    return " ".join(re.sub(r"[^a-z0-9#]+", " ", kept).split())


def pattern(entries: Any) -> re.Pattern[str]:
    """Whole words, "*" for any ending of one; the longest entry wins where several fit at one place."""
    parts = sorted((fold_entry(entry) for entry in entries), key=lambda entry: (-len(entry), entry))
    return re.compile(r"(?<![a-z0-9#])(?:" + "|".join(parts) + r")(?![a-z0-9#])")


def fold_entry(entry: str) -> str:
    return r"[a-z]*".join(re.escape(piece) for piece in entry.split("*"))


class Names:
    """The words of constraints/names.toml, ready to be looked up.

    Attributes:
        marks: kind of playing mark -> pattern over folded words.
    """

    def __init__(self, tables: Tables) -> None:
        data: Mapping[str, Any] = tables.rule("names", NAMES)
        self._tables = tables
        self._sounds = {found.sound: found for found in tables.instruments.values()}
        self._near = sorted(data["sounds"].items(), key=lambda item: -len(item[0]))
        self._words: list[tuple[Instrument | None, re.Pattern[str]]] = [
            (found, pattern(data["instruments"][key]))
            for key, found in tables.instruments.items()
            if key in data["instruments"]
        ]
        self._words.append((None, pattern(data["instruments"]["others"])))
        self._double = data["double"]
        self._plural = frozenset(data["plural"]["words"])
        self.marks = {kind: pattern(words) for kind, words in data["marks"].items()}

    def by_sound(self, sound: str) -> Instrument | None:
        """The instrument of a MusicXML sound id, or its nearest relative in the tables."""
        if sound in self._sounds:
            return self._sounds[sound]
        for start, key in self._near:
            if sound.startswith(start):
                return self._tables.instruments.get(key)
        return None

    def by_name(self, name: str) -> Instrument | None:
        """The instrument whose word begins first in the name; of those, the one with the longest word.

        None where no word fits, or where it is an instrument that the tables do not hold.
        """
        text = fold(name)
        best: tuple[int, int] | None = None
        found: Instrument | None = None
        for instrument, words in self._words:
            if match := words.search(text):
                key = (match.start(), -len(match.group()))
                if best is None or key < best:
                    best, found = key, instrument
        return found if best is not None else self._tables.by_alias.get(text)

    def under_strings(self, instrument: Instrument) -> Instrument:
        """What "Bass" or "Alto" means in a score without a soprano."""
        other = self._double.get(instrument.id)
        return self._tables.instruments[other] if other else instrument

    def pitched_in(self, instrument: Instrument, semitones: int) -> Instrument:
        """The clarinet or trumpet of that transposition (semitones from sounding to written), where the table has one."""
        if instrument.transposition[1] == semitones:
            return instrument
        family = instrument.id.split("_")[0]
        for other in self._tables.instruments.values():
            if other.id.split("_")[0] == family and other.id != instrument.id and other.transposition[1] == semitones:
                return other
        return instrument

    def players(self, name: str, several: int) -> int:
        """People that a stave of winds with this name holds ("2 Flutes", "Horns I II", "Trumpet 1,2", "Oboe 3")."""
        words = fold(name).split()
        if not words:
            return 1
        if words[0].isdigit() and len(words) > 1 and not words[1].isdigit():
            return min(12, max(1, int(words[0])))
        numbers = {int(word) for word in words if word.isdigit() and int(word) <= 12}
        numbers |= {_ROMAN[word] for word in words if word in _ROMAN}
        if len(numbers) == 2 and re.search(r"\d\s*[-–]\s*\d", name):
            return max(numbers) - min(numbers) + 1
        if len(numbers) > 1:
            return len(numbers)
        if not numbers and any(word in self._plural for word in words):
            return several
        return 1
