"""A draft made into a score that can be put on the stands: one part a player or section, every bar and mark in place."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from autoorch.errors import SketchError
from autoorch.layers.model import Material, MaterialNote
from autoorch.lineup import Lineup, Player
from autoorch.problem.draft import Choice, Draft
from autoorch.roles.model import Reading
from autoorch.score.divisi import divisi_words
from autoorch.score.idiom import left_out, player_marks
from autoorch.score.marks import Placed, Voiced, dynamics_of, top_marks, wedges_of, words_of
from autoorch.score.model import Direction, Event, Head, Measure, Part, Score
from autoorch.score.rhythm import write_rhythm
from autoorch.score.slurs import Slurs
from autoorch.score.streams import Grid, Played, played_by
from autoorch.score.transpose import transposed
from autoorch.score.voices import Slice, Voice, lay_out
from autoorch.sketch.model import Bar, Sketch

_ROMAN = ("", "I", "II", "III", "IV")


def realise(sketch: Sketch, reading: Reading, material: Material, lineup: Lineup, draft: Draft) -> Score:
    """The transposed full score of a draft.

    A note belongs to the choice inside whose span it starts, at that choice's octave. Every part has all bars of the
    sketch with their repeats; who has nothing to play rests.

    Raises:
        SketchError: for a rhythm too fine to be written (shorter than a 1024th).
    """
    grid = Grid.of(sketch)
    context = _Context(
        sketch, grid, Voiced.of(sketch, reading, grid), Slurs.of(sketch, reading), _fermatas(sketch, grid)
    )
    choices: dict[str, list[Choice]] = defaultdict(list)
    for choice in draft.choices:
        choices[choice.player].append(choice)
    top = top_marks(sketch, reading, grid)
    parts = []
    for number, player in enumerate(lineup.players):
        own = choices[player.name]
        notes = played_by(player, own, material, grid)
        parts.append(_part(f"P{number + 1}", player, own, notes, context, () if number else top))
    score = Score(
        grid.ticks, sketch.title, sketch.composer, grid.bars, tuple(parts), reading.tempo, notices=left_out(sketch)
    )
    return transposed(score)


@dataclass(frozen=True)
class _Context:
    """What all parts share."""

    sketch: Sketch
    grid: Grid
    voiced: Voiced
    slurs: Slurs
    fermatas: tuple[int, ...]


def _fermatas(sketch: Sketch, grid: Grid) -> tuple[int, ...]:
    """Last ticks of the notes that are held."""
    return tuple(sorted({n.end * grid.factor - 1 for n in sketch.notes if "fermata" in n.marks and n.duration}))


def _part(
    name: str,
    player: Player,
    choices: Sequence[Choice],
    notes: Sequence[Played],
    context: _Context,
    top: Iterable[Placed],
) -> Part:
    layout = lay_out(player, notes, context.grid.bars)
    page = _Page(player, context)
    for bar, voices in zip(context.grid.bars, layout, strict=True):
        page.write(bar, voices)
    page.slur(context.slurs.in_hand(notes))
    page.hold(context.fermatas)
    staff_of = [_staff(note, context.sketch) for note in notes]
    placed = [
        *top,
        *divisi_words(player, choices, notes, context.grid),
        *words_of(notes, staff_of, context.voiced),
        *dynamics_of(notes, staff_of, context.voiced, context.grid),
        *wedges_of(notes, staff_of, context.voiced, context.grid),
    ]
    measures = page.measures(placed)
    return Part(name, part_name(player), _short(player), player, player.instrument.transposition, measures)


def _staff(note: Played, sketch: Sketch) -> int:
    source = next((sketch.by_id[s] for s in note.note.sources if s in sketch.by_id), None)
    return source.staff if source else -1


def part_name(player: Player) -> str:
    """The full name in front of the first system: "Horn in F 1", "Violin I"; a name of the line-up's own stays."""
    instrument = player.instrument
    if player.doubles and not player.name.startswith(instrument.player):
        return player.name
    return f"{instrument.name}{_seat(player)}"


def _short(player: Player) -> str:
    if player.doubles and not player.name.startswith(player.instrument.player):
        return f"{player.name[:4]}.{_seat(player)}"
    return f"{player.instrument.short}{_seat(player)}"


def _seat(player: Player) -> str:
    if not player.number:
        return ""
    return f" {_ROMAN[player.number] if player.instrument.family == 'strings' else player.number}"


@dataclass
class _Page:
    """The events of one part while it is written.

    Attributes:
        bars: for each bar its voices, as lists of events.
        first, last: (line, note id) -> place of the note's first and last event, as (bar, voice, index).
    """

    player: Player
    context: _Context
    bars: list[list[list[Event]]] = field(default_factory=list)
    staves: list[list[int]] = field(default_factory=list)
    first: dict[tuple[str, str], tuple[int, int, int]] = field(default_factory=dict)
    last: dict[tuple[str, str], tuple[int, int, int]] = field(default_factory=dict)

    def write(self, bar: Bar, voices: Sequence[Voice]) -> None:
        """Add a bar."""
        self.bars.append([])
        self.staves.append([voice.staff for voice in voices])
        for voice in voices:
            self.bars[-1].append(self._voice(bar, voice))

    def _voice(self, bar: Bar, voice: Voice) -> list[Event]:
        grid = self.context.grid
        pattern = tuple((s.start - bar.onset, s.end - bar.onset, not s.notes) for s in voice.slices)
        offset = _offset(bar, grid)
        events: list[Event] = []
        place = (len(self.bars) - 1, len(self.bars[-1]))
        try:
            pieces = write_rhythm(pattern, bar.length, offset, bar.metre, grid.ticks)
        except ValueError as error:
            raise SketchError(f"a rhythm that can't be written: {error}", bar=bar.number) from error
        for piece in pieces:
            own = voice.slices[piece.slice]
            opens = piece.onset + bar.onset == own.start
            starting = [note for note in own.notes if opens and note.onset == own.start]
            events += self._graces(starting, piece.onset)
            for note in own.notes:
                key = (note.line, note.note.id)
                self.first.setdefault(key, (*place, len(events)))
                self.last[key] = (*place, len(events))
            events.append(
                Event(
                    piece.onset, piece.duration, _heads(own, opens, piece.tied), piece.value, piece.dots, piece.tuplet,
                    piece.tuplet_start, piece.tuplet_stop, marks=self._marks(own.notes, starting), beams=piece.beams,
                    lyric=self._lyric(starting),
                )
            )  # fmt: skip
        return events

    def _graces(self, starting: Sequence[Played], onset: int) -> list[Event]:
        """The grace notes before an event: single ones as eighths, several as beamed sixteenths."""
        rows = [[(grace, note.octave) for grace in note.graces] for note in starting if note.graces]
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
            self.player.instrument, [n.note.marks for n in notes], [n.note.marks for n in starting], len(notes)
        )

    def _lyric(self, starting: Sequence[Played]) -> str:
        if self.player.instrument.kind != "voice":
            return ""
        by_id = self.context.sketch.by_id
        return next((by_id[s].lyric for n in starting for s in n.note.sources if s in by_id and by_id[s].lyric), "")

    def slur(self, pairs: Sequence[tuple[Played, Played]]) -> None:
        """Write slurs from the first note's first to the last note's last event; no two alike."""
        spans = {}
        for first, last in pairs:
            a, b = self.first[first.line, first.note.id], self.last[last.line, last.note.id]
            if a < b and self._layer(a) == self._layer(b):
                spans[a, b] = True
        busy: dict[int, tuple[int, int, int]] = {}
        for a, b in sorted(spans, key=lambda span: (span[0][0], self._event(span[0]).onset, span[0], span[1])):
            start, stop = self._when(a), self._when(b)
            number = next(n for n in range(1, 1000) if n not in busy or busy[n] < start)
            busy[number] = stop
            self._change(a, slur_starts=(*self._event(a).slur_starts, number))
            self._change(b, slur_stops=(*self._event(b).slur_stops, number))

    def hold(self, ticks: Sequence[int]) -> None:
        """Write fermatas over whatever sounds or rests at `ticks`, in the upper voice of each staff."""
        bars = self.context.grid.bars
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
        bars = self.context.grid.bars
        ends = [bar.end for bar in bars]
        inside: dict[int, list[Direction]] = defaultdict(list)
        for mark in placed:
            stop = mark.kind == "wedge" and mark.value == "stop"
            index = min(bisect_right(ends, mark.tick - stop), len(bars) - 1)
            at = min(mark.tick - bars[index].onset, bars[index].length)
            inside[index].append(Direction(mark.kind, at, mark.value, mark.text, mark.staff))
        return tuple(
            Measure(
                tuple(tuple(events) for events in voices),
                tuple(staves),
                tuple(sorted(inside[index], key=lambda d: d.onset)),
            )
            for index, (voices, staves) in enumerate(zip(self.bars, self.staves, strict=True))
        )

    def _event(self, place: tuple[int, int, int]) -> Event:
        bar, voice, index = place
        return self.bars[bar][voice][index]

    def _change(self, place: tuple[int, int, int], **fields: object) -> None:
        bar, voice, index = place
        self.bars[bar][voice][index] = replace(self.bars[bar][voice][index], **fields)  # type: ignore[arg-type]

    def _layer(self, place: tuple[int, int, int]) -> int:
        return self.staves[place[0]][place[1]]

    def _when(self, place: tuple[int, int, int]) -> tuple[int, int, int]:
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
