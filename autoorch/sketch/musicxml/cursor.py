"""Where the reader of a MusicXML part stands inside a bar: the exact place, and beside it the file's own rounded one.

Files move back and forth by rounded durations. Where the two places have parted, a move that ends near a place already
seen ends exactly there.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from fractions import Fraction

from autoorch.sketch.musicxml.written import ZERO


class Cursor:
    """Stands at the start of a bar.

    Attributes:
        at: exact place in quarters from the start of the bar; raw: the file's own.
    """

    def __init__(self) -> None:
        self.at = ZERO
        self.raw = ZERO
        self._exact = {ZERO: ZERO}
        self._seen = [ZERO]
        self._parted = False

    def advance(self, duration: Fraction, length: Fraction) -> None:
        """Past a note of that duration in the file, which is `length` quarters in truth."""
        self.raw += duration
        self.at += length
        self._parted |= self.raw != self.at
        if self.raw not in self._exact:
            self._exact[self.raw] = self.at
            insort(self._seen, self.raw)

    def move(self, quarters: Fraction, division: Fraction) -> None:
        """By so many quarters of the file, forth or back, but not before the bar; a `division` is its smallest step."""
        drift = abs(self.raw - self.at)
        self.raw = max(ZERO, self.raw + quarters)
        self.at = self._exact.get(self.raw, self.raw)
        if self._parted and self.raw not in self._exact:
            place = bisect_left(self._seen, self.raw)
            near = min(self._seen[max(0, place - 1) : place + 1], key=lambda seen: abs(seen - self.raw))
            if abs(near - self.raw) < drift + division:
                self.at = self._exact[near]
