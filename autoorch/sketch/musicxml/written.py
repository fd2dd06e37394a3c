"""Notes and marks as a MusicXML part has them: a bar and an exact place in it, before bars have lengths and ticks a size."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from autoorch.errors import SketchError
from autoorch.pitch import Pitch

ZERO = Fraction(0)


@dataclass(slots=True)
class Where:
    """The file and the printed number of the bar that is being read."""

    file: str
    bar: str = ""

    def error(self, message: str) -> SketchError:
        return SketchError(message, self.file, self.bar)


@dataclass(slots=True, eq=False)
class Written:
    """One note head.

    Attributes:
        bar: index of the bar; at: quarters from its start; length: quarters, 0 for a grace note.
        pitch: sounding.
        staff: within the part, from 0; voice: as the file names it.
        tied_from, tied_to: a tie sign comes from before, leads on.
        others: as in SketchNote.
    """

    bar: int
    at: Fraction
    length: Fraction
    pitch: Pitch
    staff: int
    voice: str
    velocity: int | None = None
    grace: str = ""
    marks: frozenset[str] = frozenset()
    lyric: str = ""
    tied_from: bool = False
    tied_to: bool = False


@dataclass(slots=True, eq=False)
class Placed:
    """A mark from one place to another (the same one where it has no extent); staff -1 for the whole score."""

    kind: str
    bar: int
    at: Fraction
    staff: int
    value: str
    text: str = ""
    end_bar: int = -1
    end_at: Fraction = ZERO


@dataclass(slots=True)
class BarLine:
    """What the bar lines of one bar say; `ending_start` are the numbers of a volta that begins here, the rest as in Bar."""

    repeat_start: bool = False
    repeat_end: int = 0
    ending_start: tuple[int, ...] = ()
    ending_stop: bool = False
    fermata: bool = False
    barline: str = ""
