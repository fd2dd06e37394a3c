"""A score as the checker hears it: parts of timed sounding notes with the dynamic and the technique in force.

Positions are integer ticks from the first bar; `Score.ticks` ticks make a quarter. Pitches are sounding MIDI numbers.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

from autoorch.pitch import Pitch
from autoorch.tables import Instrument


@dataclass(slots=True, eq=False)
class Note:
    """One attack, ties merged.

    Attributes:
        start, end: ticks; a grace note has no length.
        at, until: the same in seconds.
        pitch: sounding MIDI number, -1 for an unpitched stroke.
        letter, alter: spelling on the page (harp pedals); sounding: spelled sounding pitch, for messages.
        instrument: what the player holds at this moment; None where it was not recognised.
        dynamic: index into DYNAMICS, None before the first mark.
        slurred: a slur leads on to the next note.
        breath: a breath mark, caesura or fermata follows.
        pizz, muted, divided, tremolo, harmonic, rolled: technique (rolled: an arpeggio sign).
        players: at most so many people play it ("1.", "solo"); 0 where the stave's usual number does.
        clef: sign of the clef in force, "G", "F" or "C".
        stroke: which unpitched instrument is struck (its name in the file), "" for pitched notes.
    """

    start: int
    end: int
    pitch: int
    letter: str
    alter: int
    sounding: Pitch | None
    voice: str
    staff: int
    grace: bool = False
    at: float = 0.0
    until: float = 0.0
    instrument: Instrument | None = None
    dynamic: int | None = None
    slurred: bool = False
    breath: bool = False
    pizz: bool = False
    muted: bool = False
    divided: bool = False
    tremolo: bool = False
    harmonic: bool = False
    rolled: bool = False
    players: int = 0
    stroke: str = ""
    clef: str = ""

    @property
    def name(self) -> str:
        return str(self.sounding) if self.sounding else self.stroke


@dataclass(slots=True, frozen=True)
class Mark:
    """Something written at a tick: kind "dynamic", "wedge", "words", "pizz", "arco", "mute", "unmute", "instrument"."""

    tick: int
    kind: str
    text: str


@dataclass(eq=False)
class Part:
    """One stave or grand staff.

    Attributes:
        index: place in the score, from 0.
        name: as printed (on one line).
        instrument: the first one played; None where it was not recognised.
        players: people on the stave; 0 = a section.
        notes: by start, then pitch, grace notes left out; graces: the rest.
        marks: by tick.
    """

    index: int
    name: str
    instrument: Instrument | None
    players: int
    notes: list[Note] = field(default_factory=list)
    graces: list[Note] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)

    @property
    def section(self) -> bool:
        return self.players == 0

    @property
    def kind(self) -> str:
        return self.instrument.kind if self.instrument else ""

    @cached_property
    def onsets(self) -> list[list[Note]]:
        """Notes grouped by their start, lowest first."""
        groups: list[list[Note]] = []
        for note in self.notes:
            if groups and groups[-1][0].start == note.start:
                groups[-1].append(note)
            else:
                groups.append([note])
        return groups

    @cached_property
    def moments(self) -> list[list[Note]]:
        """At each onset: all notes that sound then, the new ones last."""
        found: list[list[Note]] = []
        held: list[Note] = []
        for group in self.onsets:
            tick = group[0].start
            held = [note for note in held if note.end > tick]
            found.append(held + group)
            held = found[-1]
        return found

    @cached_property
    def lines(self) -> list[list[list[Note]]]:
        """Each voice as a run of chords (mostly of one note)."""
        voices: dict[str, list[list[Note]]] = {}
        for note in self.notes:
            line = voices.setdefault(note.voice, [])
            if line and line[-1][0].start == note.start:
                line[-1].append(note)
            else:
                line.append([note])
        return [voices[key] for key in sorted(voices)]


@dataclass(slots=True, frozen=True)
class Bar:
    """A bar: printed number, first tick, length in ticks, ticks of one beat."""

    number: str
    start: int
    length: int
    beat: int


@dataclass(eq=False)
class Score:
    """Anyone's score, ready to be checked.

    Attributes:
        notices: what was assumed in reading, a line each.
        tempos: (tick, quarters a minute), the first one at tick 0.
        timed: the file gives a tempo; without one, speed alone makes nothing unplayable.
    """

    file: str
    ticks: int
    bars: list[Bar]
    parts: list[Part]
    tempos: list[tuple[int, float]]
    notices: list[str]
    timed: bool = True

    @cached_property
    def _starts(self) -> list[int]:
        return [bar.start for bar in self.bars]

    def bar(self, tick: int) -> int:
        """Index of the bar that holds a tick."""
        return max(0, bisect_right(self._starts, tick) - 1)

    def place(self, tick: int) -> tuple[str, str]:
        """(bar as printed, beat from 1, such as "2" or "3.5")."""
        bar = self.bars[self.bar(tick)]
        beat = 1 + (tick - bar.start) / bar.beat
        return bar.number, f"{beat:.2f}".rstrip("0").rstrip(".")

    @cached_property
    def _seconds(self) -> tuple[list[int], list[float], list[float]]:
        ticks = [tick for tick, _ in self.tempos]
        rates = [60.0 / (rate * self.ticks) for _, rate in self.tempos]
        seconds = [0.0]
        for index in range(1, len(ticks)):
            seconds.append(seconds[-1] + (ticks[index] - ticks[index - 1]) * rates[index - 1])
        return ticks, rates, seconds

    def seconds(self, tick: int) -> float:
        """Seconds from the first bar to a tick, repeats not played."""
        ticks, rates, seconds = self._seconds
        index = max(0, bisect_right(ticks, tick) - 1)
        return seconds[index] + (tick - ticks[index]) * rates[index]

    @cached_property
    def doublers(self) -> dict[tuple[int, int, int], set[int]]:
        """(start, end, pitch class) -> indices of the parts that play it: who doubles whom in unison or octaves."""
        found: dict[tuple[int, int, int], set[int]] = {}
        for part, note in self.pitched():
            found.setdefault((note.start, note.end, note.pitch % 12), set()).add(part.index)
        return found

    @property
    def count(self) -> int:
        """Notes, ties merged, grace notes included."""
        return sum(len(part.notes) + len(part.graces) for part in self.parts)

    @cached_property
    def moments(self) -> list[tuple[int, int, list[tuple[Part, Note]]]]:
        """(tick, end, everything pitched that sounds) for each stretch of time in which nothing changes, silences left out."""
        waiting = deque(sorted(self.pitched(), key=lambda pair: (pair[1].start, pair[0].index, pair[1].pitch)))
        edges = sorted({tick for _, note in waiting for tick in (note.start, note.end)})
        found: list[tuple[int, int, list[tuple[Part, Note]]]] = []
        held: list[tuple[Part, Note]] = []
        for tick, end in pairwise(edges):
            held = [pair for pair in held if pair[1].end > tick]
            while waiting and waiting[0][1].start == tick:
                held.append(waiting.popleft())
            if held:
                found.append((tick, end, held))
        return found

    def pitched(self) -> Iterator[tuple[Part, Note]]:
        for part in self.parts:
            for note in part.notes:
                if note.pitch >= 0:
                    yield part, note
