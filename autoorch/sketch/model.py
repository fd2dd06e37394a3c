"""What a sketch holds: notes with stable ids on an exact integer grid, at sounding pitch with their spelling, and all marks.

Positions and lengths are integers in ticks; `Sketch.ticks` ticks make a quarter. Position 0 is the start of the first bar,
a pickup bar included. Tied notes are one note; ottava lines are already in the pitches.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from functools import cached_property

from autoorch.pitch import Pitch

SMALLEST_UNIT = 128
"""Shortest beat unit of a metre, as in 1/128."""


@dataclass(frozen=True, slots=True)
class SketchNote:
    """One note of the sketch.

    Attributes:
        id: "n1", "n2", … in order of (onset, staff, voice, pitch), grace notes before the others of their voice; stable
            for the same file.
        onset: ticks from the start of the first bar. Grace notes stand at the onset of their main note.
        duration: ticks; 0 for a grace note.
        pitch: sounding.
        staff: index into `Sketch.staves`.
        voice: as notated, counted from 1 within its staff; 0 where the format has none.
        velocity: MIDI velocity 1 to 127, or None.
        grace: "" or "acciaccatura" or "appoggiatura"; several at one onset are in order of id.
        marks: names of MusicXML articulations, ornaments and technical elements ("staccato", "accent", "trill-mark",
            "fermata", "arpeggiate", "tremolo-3" (single, 3 beams), "tremolo-start-3", "tremolo-stop-3", …), sorted.
        lyric: syllable or ""; a hyphen at its end says that the word goes on.
    """

    id: str
    onset: int
    duration: int
    pitch: Pitch
    staff: int
    voice: int
    velocity: int | None = None
    grace: str = ""
    marks: tuple[str, ...] = ()
    lyric: str = ""

    @property
    def end(self) -> int:
        return self.onset + self.duration


@dataclass(frozen=True, slots=True)
class Slur:
    """A slur from the note `first` to the note `last` (note ids)."""

    first: str
    last: str


@dataclass(frozen=True, slots=True)
class Mark:
    """Anything that stands at a place rather than on a note.

    Attributes:
        kind: "dynamic" (value "p"), "wedge" (value "crescendo" or "diminuendo"), "tempo" (value = quarters a minute,
            text = the words, if any), "words", "rehearsal", "pedal" (end = where it is lifted), "ottava", "chord" (a chord
            symbol, value = its text such as "Am7/G"), "text" (anything that stands in the file and is only kept).
        onset: ticks.
        end: ticks; equal to onset for marks without extent.
        staff: index of the staff, or -1 for the whole score.
        value: see kind.
        text: words of a tempo mark; "" otherwise.
    """

    kind: str
    onset: int
    end: int
    staff: int
    value: str
    text: str = ""


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar as written (repeats are not unfolded).

    Attributes:
        index: from 0.
        number: printed number; "0" for a pickup.
        onset: ticks.
        length: real length in ticks (may be shorter than the metre: pickups, split bars).
        metre: (beats, beat unit), in force.
        fifths: key signature in force, sharps positive.
        mode: "major", "minor" or "".
        repeat_start: a repeat begins here.
        repeat_end: times played in all (2 = once again) where a repeat ends here; 0 where none.
        endings: numbers of the volta that covers this bar, () where none.
        fermata: a fermata on the bar's closing line.
        barline: "" (regular), "double", "final" or "dashed".
    """

    index: int
    number: str
    onset: int
    length: int
    metre: tuple[int, int]
    fifths: int
    mode: str = ""
    repeat_start: bool = False
    repeat_end: int = 0
    endings: tuple[int, ...] = ()
    fermata: bool = False
    barline: str = ""

    @property
    def end(self) -> int:
        return self.onset + self.length


@dataclass(frozen=True, slots=True)
class Staff:
    """One staff or track; `hint` is the instrument, section or direction its name stands for ("" for a piano hand)."""

    index: int
    name: str
    hint: str = ""


@dataclass(frozen=True)
class Sketch:
    """A whole sketch; see the module's first lines for units.

    Attributes:
        ticks: ticks a quarter, so that each onset and duration of the file is a whole number.
        source: "musicxml", "midi" or "other".
        lost: what the file has and the sketch can't keep, one plain line each ("3 figured-bass signs").
        notices: what the reader decided and the user should know.
        queries: likely slips of the writer, one plain line each with its bar; nothing is mended.
        raw: for played MIDI, note id -> (onset, duration) in seconds as played; empty otherwise.
        moved: for played MIDI, note id -> seconds from its attack as played to its place on the beats; empty otherwise.
    """

    ticks: int
    staves: tuple[Staff, ...]
    bars: tuple[Bar, ...]
    notes: tuple[SketchNote, ...]
    slurs: tuple[Slur, ...] = ()
    marks: tuple[Mark, ...] = ()
    title: str = ""
    composer: str = ""
    source: str = "musicxml"
    lost: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()
    raw: dict[str, tuple[float, float]] = field(default_factory=dict)
    queries: tuple[str, ...] = ()
    moved: dict[str, float] = field(default_factory=dict)

    @cached_property
    def by_id(self) -> dict[str, SketchNote]:
        return {note.id: note for note in self.notes}

    @cached_property
    def _bar_onsets(self) -> list[int]:
        return [bar.onset for bar in self.bars]

    @property
    def end(self) -> int:
        """Ticks at the end of the last bar."""
        return self.bars[-1].end

    def bar_at(self, tick: int) -> Bar:
        """The bar that holds `tick`; the last bar where the tick lies behind the end."""
        return self.bars[max(0, bisect_right(self._bar_onsets, tick) - 1)]

    def tempo_at(self, tick: int) -> float | None:
        """Quarters a minute in force at `tick`, or None where the sketch has not given any yet."""
        found = None
        for mark in self.marks:
            if mark.kind == "tempo" and mark.value and mark.onset <= tick:
                found = float(mark.value)
        return found
