"""What is in force in a MusicXML part: divisions, transposition, metre, key, number of staves."""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from autoorch.errors import SketchError
from autoorch.pitch import Pitch
from autoorch.sketch.guard import Limits, integer, number, plain
from autoorch.sketch.model import SMALLEST_UNIT
from autoorch.sketch.musicxml.count import Count
from autoorch.sketch.musicxml.written import ZERO, Where

_LETTERS_OF_SEMITONES = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
"""Diatonic steps of a transposition whose file gives semitones only (common practice)."""
MOST_FIFTHS = 14
"""Sharps or flats of a key signature with nothing but double ones."""


def too_many(staves: int, limits: Limits) -> str:
    return f"has {staves} staves; a sketch has 1 to {limits.staves}: leave out those that are empty or doubled"


class Attributes:
    """The attributes of one part, as the reader comes upon them.

    Attributes:
        divisions: file units a quarter.
        transpose: (diatonic steps, semitones) from written to sounding.
        metre_quarters: length of a full bar; 0 where there is no metre.
        metres: bar -> (beats, beat unit) from that bar on.
        keys: bar -> (sharps at sounding pitch, mode) from that bar on.
        staves: number of staves.
    """

    def __init__(self, where: Where, count: Count, limits: Limits) -> None:
        self.divisions = Fraction(1)
        self.transpose = (0, 0)
        self.metre_quarters = ZERO
        self.metres: dict[int, tuple[int, int]] = {}
        self.keys: dict[int, tuple[int, str]] = {}
        self.staves = 1
        self._where = where
        self._count = count
        self._limits = limits

    def read(self, element: etree._Element, bar: int, inside: bool) -> None:
        """One `<attributes>`, at the start of a bar or `inside` it.

        Raises:
            SketchError: for values that make no sense.
        """
        divisions = element.findtext("divisions")
        if divisions is not None:
            value = number(divisions)
            if value is None or value <= 0:
                raise self._where.error(f'"{plain(divisions, 40)}" is no number of divisions')
            self.divisions = value
        if element.find("staves") is not None:
            self.staff(element.findtext("staves"))
        for transpose in element.iterfind("transpose"):
            self._transposition(transpose)
        for key in element.iterfind("key"):
            self._key(key, bar, inside)
        for time in element.iterfind("time"):
            self._time(time, bar, inside)

    def staff(self, text: str | None) -> int:
        """Index of the staff of that number, which counts from 1."""
        staff = integer(text)
        if staff is None or staff < 1:
            raise self._where.error(f'"{plain(text, 40)}" is no staff')
        if staff > self._limits.staves:
            raise SketchError(too_many(staff, self._limits), self._where.file)
        self.staves = max(self.staves, staff)
        return staff - 1

    def _transposition(self, element: etree._Element) -> None:
        semitones = integer(element.findtext("chromatic") or "0")
        octaves = integer(element.findtext("octave-change") or "0")
        if semitones is None or octaves is None:
            raise self._where.error("has a transposition that is no whole number of semitones")
        letters = integer(element.findtext("diatonic"))
        if letters is None:
            letters = _LETTERS_OF_SEMITONES[semitones % 12] + 7 * (semitones // 12)
        if element.find("double") is not None:
            self._count.give_up(
                "doubling at the octave by a transposition", "doublings at the octave by transpositions"
            )
        if max(abs(semitones), abs(letters), abs(octaves)) > 48:
            raise self._where.error("has a transposition of more than four octaves")
        self.transpose = (letters + 7 * octaves, semitones + 12 * octaves)

    def _key(self, element: etree._Element, bar: int, inside: bool) -> None:
        fifths, mode = integer(element.findtext("fifths")), (element.findtext("mode") or "").strip()
        if fifths is None or abs(fifths) > MOST_FIFTHS:
            self._count.give_up("key signature without a number of sharps or flats", "key signatures of their own kind")
            return
        if mode not in ("", "none", "major", "minor"):
            self._count.give_up("mode other than major and minor", "modes other than major and minor")
        fifths += Pitch("C", 0, 4).transposed(*self.transpose).fifths
        found = (fifths, mode if mode in ("major", "minor") else "")
        if inside:
            self._count.give_up(
                "key change inside a bar, taken at the next", "key changes inside a bar, taken at the next"
            )
        if self.keys.setdefault(bar + inside, found) != found:
            self._count.give_up("key signature of a single staff", "key signatures of single staves")

    def _time(self, element: etree._Element, bar: int, inside: bool) -> None:
        """The metre from here on; several fractions are added up ("3/8 + 2/4" is 7/8)."""
        units = [integer(unit.text) for unit in element.iterfind("beat-type")]
        sums = [[integer(beats) for beats in (each.text or "").split("+")] for each in element.iterfind("beats")]
        total, unit = ZERO, 1
        for beats, below in zip(sums, units, strict=False):
            if below is None or not 1 <= below <= SMALLEST_UNIT or any(b is None or not 1 <= b <= 1024 for b in beats):
                raise self._where.error("has a metre that is no fraction of plain numbers")
            total += Fraction(sum(b for b in beats if b), below)
            unit = max(unit, below)
        if not total:
            self.metre_quarters = ZERO
            return
        if (total * unit).denominator != 1 or unit & (unit - 1):
            raise self._where.error("has a metre whose beat is no half, quarter, eighth, …")
        if inside:
            self._count.give_up("metre change inside a bar", "metre changes inside a bar")
            return
        if len(sums) > 1 or len(sums[0]) > 1:
            self._count.give_up("metre written as a sum, read as one", "metres written as sums, read as one each")
        self.metre_quarters = total * 4
        found = (int(total * unit), unit)
        if self.metres.setdefault(bar, found) != found:
            self._count.give_up("metre of a single staff", "metres of single staves")
