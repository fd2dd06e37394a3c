"""One part's bars while they are written: laid-out voices become events, then slurs, fermatas and directions are put in."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from autoorch.errors import SketchError
from autoorch.layers.model import MaterialNote
from autoorch.lineup import Player
from autoorch.score.idiom import player_marks
from autoorch.score.marks import Placed
from autoorch.score.model import Direction, Event, Head, Measure
from autoorch.score.notation import Notation
from autoorch.score.rhythm import write_rhythm
from autoorch.score.streams import Grid, Key, Played
from autoorch.score.tremolo import doubled
from autoorch.score.voices import Slice, Voice
from autoorch.sketch.model import Bar

Place = tuple[int, int, int]
"""(bar, voice, index) of an event"""


@dataclass
class Page:
    """The events of one part while it is written.

    Attributes:
        lyrics: syllables by note.
        bars: for each bar its voices, as lists of events.
        first, last: (line, note id) -> place of the note's first and last event, as (bar, voice, index).
    """

    player: Player
    grid: Grid
    house: Notation
    lyrics: Mapping[Key, str] = field(default_factory=dict)
    bars: list[list[list[Event]]] = field(default_factory=list)
    staves: list[list[int]] = field(default_factory=list)
    first: dict[Key, Place] = field(default_factory=dict)
    last: dict[Key, Place] = field(default_factory=dict)

    def write(self, bar: Bar, voices: Sequence[Voice]) -> None:
        """Add a bar."""
        self.bars.append([])
        self.staves.append([voice.staff for voice in voices])
        for voice in voices:
            self.bars[-1].append(doubled(self._voice(bar, voice)))

    def _voice(self, bar: Bar, voice: Voice) -> list[Event]:
        pattern = tuple((s.start - bar.onset, s.end - bar.onset, not s.notes) for s in voice.slices)
        offset = _offset(bar, self.grid)
        events: list[Event] = []
        place = (len(self.bars) - 1, len(self.bars[-1]))
        try:
            pieces = write_rhythm(pattern, bar.length, offset, bar.metre, self.grid.ticks, self.house)
        except ValueError as error:
            raise SketchError(f"a rhythm that can't be written: {error}", bar=bar.number) from error
        for piece in pieces:
            own = voice.slices[piece.slice]
            opens = piece.onset + bar.onset == own.start
            starting = [note for note in own.notes if opens and note.onset == own.start]
            events += self._graces([note.graces for note in starting], [note.octave for note in starting], piece.onset)
            for note in own.notes:
                self.first.setdefault(note.key, (*place, len(events)))
                self.last[note.key] = (*place, len(events))
            events.append(
                Event(
                    piece.onset, piece.duration, _heads(own, opens, piece.tied), piece.value, piece.dots, piece.tuplet,
                    piece.tuplet_start, piece.tuplet_stop, marks=self._marks(own.notes, starting), beams=piece.beams,
                    lyric=self._lyric(starting),
                )
            )  # fmt: skip
            ending = [note for note in own.notes if note.after and piece.onset + piece.duration + bar.onset == note.end]
            events += self._graces(
                [note.after for note in ending], [note.octave for note in ending], piece.onset + piece.duration
            )
        return events

    def _graces(self, graces: Sequence[tuple[MaterialNote, ...]], octaves: Sequence[int], onset: int) -> list[Event]:
        """The grace notes at an event, of each of its notes: single ones as eighths, several as beamed sixteenths."""
        rows = [[(grace, octave) for grace in own] for own, octave in zip(graces, octaves, strict=True) if own]
        if not rows:
            return []
        same = len({len(row) for row in rows}) == 1
        chords = (
            [list(chord) for chord in zip(*rows, strict=True)] if same else [[grace] for row in rows for grace in row]
        )
        found = []
        for k, chord in enumerate(chords):
            heads = sorted((_grace_head(grace, octave) for grace, octave in chord), key=lambda h: h.sounding.midi)
            many = len(chords) > 1
            beam = "begin" if k == 0 else "end" if k + 1 == len(chords) else "continue"
            kind = chord[0][0].grace or "acciaccatura"
            value, beams = ("16th", (beam, beam)) if many else ("eighth", ())
            found.append(Event(onset, 0, tuple(heads), value, grace=kind, beams=beams))
        return found

    def _marks(self, notes: Sequence[Played], starting: Sequence[Played]) -> tuple[str, ...]:
        return player_marks(
            self.player.instrument,
            [n.note.marks for n in notes],
            [n.note.marks for n in starting],
            len(notes),
            self.house,
        )

    def _lyric(self, starting: Sequence[Played]) -> str:
        return next((self.lyrics[n.key] for n in starting if n.key in self.lyrics), "")

    def slur(self, pairs: Sequence[tuple[Played, Played]]) -> None:
        """Write slurs from the first note's first to the last note's last event; no two alike."""
        spans = {}
        for first, last in pairs:
            a, b = self.first[first.key], self.last[last.key]
            if a < b and self._layer(a) == self._layer(b):
                spans[a, b] = True
        busy: dict[int, Place] = {}
        for a, b in sorted(spans, key=lambda span: (span[0][0], self._event(span[0]).onset, span[0], span[1])):
            start, stop = self._when(a), self._when(b)
            number = next(n for n in range(1, 1000) if n not in busy or busy[n] < start)
            busy[number] = stop
            self._change(a, slur_starts=(*self._event(a).slur_starts, number))
            self._change(b, slur_stops=(*self._event(b).slur_stops, number))

    def hold(self, ticks: Sequence[int]) -> None:
        """Write fermatas over whatever sounds or rests at `ticks`, in the upper voice of each staff."""
        bars = self.grid.bars
        onsets = [bar.onset for bar in bars]
        for tick in ticks:
            index = bisect_right(onsets, tick) - 1
            done: set[int] = set()
            for voice, staff in enumerate(self.staves[index]):
                events = self.bars[index][voice]
                at = [k for k, e in enumerate(events) if e.onset <= tick - onsets[index] < e.onset + e.duration]
                if at and staff not in done and "fermata" not in events[at[0]].marks:
                    done.add(staff)
                    self._change((index, voice, at[0]), marks=(*events[at[0]].marks, "fermata"))

    def measures(self, placed: Sequence[Placed]) -> tuple[Measure, ...]:
        """The finished bars."""
        inside = self.placed(placed)
        return tuple(
            Measure(tuple(tuple(events) for events in voices), tuple(staves), tuple(own))
            for own, voices, staves in zip(inside, self.bars, self.staves, strict=True)
        )

    def placed(self, placed: Sequence[Placed]) -> list[list[Direction]]:
        """The directions of each bar, by onset; a hairpin that ends on a bar line belongs to the bar before it."""
        bars = self.grid.bars
        ends = [bar.end for bar in bars]
        inside: list[list[Direction]] = [[] for _ in bars]
        for mark in placed:
            stop = mark.kind == "wedge" and mark.value == "stop"
            index = min(bisect_right(ends, mark.tick - stop), len(bars) - 1)
            at = min(mark.tick - bars[index].onset, bars[index].length)
            inside[index].append(Direction(mark.kind, at, mark.value, mark.text, mark.staff, mark.everybody))
        return [sorted(own, key=lambda d: d.onset) for own in inside]

    def _event(self, place: Place) -> Event:
        bar, voice, index = place
        return self.bars[bar][voice][index]

    def _change(self, place: Place, **fields: object) -> None:
        bar, voice, index = place
        self.bars[bar][voice][index] = replace(self.bars[bar][voice][index], **fields)  # type: ignore[arg-type]

    def _layer(self, place: Place) -> int:
        return self.staves[place[0]][place[1]]

    def _when(self, place: Place) -> Place:
        return place[0], self._event(place).onset, place[2]


def _offset(bar: Bar, grid: Grid) -> int:
    """Where a short bar starts in its metre: a pickup and the second half of a divided bar end with it."""
    whole = 4 * grid.ticks * bar.metre[0] // bar.metre[1]
    if bar.length >= whole:
        return 0
    if bar.index == 0:
        return whole - bar.length
    before = grid.bars[bar.index - 1]
    divided = before.length < whole and before.metre == bar.metre and before.length + bar.length == whole
    return before.length if divided and before.index > 0 else 0


def _heads(own: Slice, opens: bool, tied: bool) -> tuple[Head, ...]:
    heads = []
    for note in own.notes:
        pitch = note.note.pitch.shifted(note.octave)
        heads.append(Head(pitch, pitch, note.note.id, tied or note.end > own.end, not opens or note.onset < own.start))
    return tuple(heads)


def _grace_head(grace: MaterialNote, octave: int) -> Head:
    pitch = grace.pitch.shifted(octave)
    return Head(pitch, pitch, grace.id)
