"""What each player has in hand: a draft's choices turned into his notes, octave moved, one sound a pitch at a time.

Positions are ticks of the score (the sketch's, times `Grid.factor`).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import lcm

from autoorch.layers.model import Material, MaterialNote
from autoorch.lineup import Player
from autoorch.problem.draft import Choice
from autoorch.sketch.model import Bar, Sketch

SHORT = 4
"""A grace note that is written out is that part of a quarter."""
Key = tuple[str, str]
"""(line, note id): a note in one player's hands"""


@dataclass(frozen=True, slots=True)
class Played:
    """A note in a player's hands.

    Attributes:
        note: the material note, at its own pitch and in the sketch's ticks.
        onset, end: ticks of the score; `end` may lie before the material's where the next note comes sooner.
        octave: declared shift.
        line: material line it comes from.
        graces: grace notes right before it, in order; after: those at its end that lead nowhere.
        techniques, instrument: as in the choice it comes from.
    """

    note: MaterialNote
    onset: int
    end: int
    octave: int
    line: str
    graces: tuple[MaterialNote, ...] = ()
    techniques: tuple[str, ...] = ()
    instrument: str = ""
    after: tuple[MaterialNote, ...] = ()

    @property
    def key(self) -> Key:
        return self.line, self.note.id

    @property
    def midi(self) -> int:
        """Sounding."""
        return self.note.pitch.midi + 12 * self.octave


@dataclass(frozen=True)
class Grid:
    """The score's own ticks: `factor` times the sketch's, so that every beat of every metre is a whole number.

    Attributes:
        bars: the sketch's bars in the score's ticks.
    """

    ticks: int
    factor: int
    bars: tuple[Bar, ...]

    @staticmethod
    def of(sketch: Sketch) -> Grid:
        """The coarsest grid on which the sketch can be written."""
        units = [unit // 4 for bar in sketch.bars if (unit := bar.metre[1]) > 4]
        ticks = lcm(sketch.ticks, *units)
        factor = ticks // sketch.ticks
        bars = tuple(replace(bar, onset=bar.onset * factor, length=bar.length * factor) for bar in sketch.bars)
        return Grid(ticks, factor, bars)

    def bar_at(self, tick: int) -> Bar:
        """The bar that holds `tick`; the last one behind the end."""
        return self.bars[max(0, bisect_right(self._onsets, tick) - 1)]

    def beat_at(self, tick: int) -> int:
        """Ticks of a beat of the metre at a tick."""
        return 4 * self.ticks // self.bar_at(tick).metre[1]

    @cached_property
    def _onsets(self) -> list[int]:
        return [bar.onset for bar in self.bars]


def played_by(player: Player, choices: Iterable[Choice], material: Material, grid: Grid) -> tuple[Played, ...]:
    """All notes of one player, by onset, highest first. Nobody holds a note on while he attacks the same pitch again; who
    has one note at a time leaves each note when the next begins."""
    notes: list[Played] = []
    closing: list[tuple[int, str, MaterialNote]] = []
    for choice in choices:
        for name in choice.lines:
            own, left = _cut_out(material.line[name].notes, choice, name, grid.factor)
            notes += own
            closing += ((grace.onset * grid.factor, name, _shifted(grace, choice.octave)) for grace in left)
    notes.sort(key=lambda n: (n.onset, -n.midi, n.line, n.note.id))
    single = player.instrument.notes == 1 and player.size == 1
    notes = once_a_pitch(notes, single)
    if closing and not notes:
        return tuple(_written_out(closing, grid))
    for tick, name, grace in closing:
        _close(notes, tick, name, grace)
    return tuple(notes)


def _cut_out(
    line: Sequence[MaterialNote], choice: Choice, name: str, factor: int
) -> tuple[list[Played], list[MaterialNote]]:
    """The notes of a line that start inside the choice; each takes the grace notes at its onset with it. Then the grace
    notes that lead to none."""
    found: list[Played] = []
    graces: list[MaterialNote] = []
    left: list[MaterialNote] = []
    first = bisect_left(line, choice.start, key=lambda note: note.onset)
    for note in line[first:]:
        if note.onset >= choice.end:
            break
        if note.duration == 0:
            graces.append(note)
            continue
        before = tuple(grace for grace in graces if grace.onset == note.onset)
        left += (grace for grace in graces if grace.onset != note.onset)
        found.append(
            Played(
                note,
                note.onset * factor,
                note.end * factor,
                choice.octave,
                name,
                before,
                choice.techniques,
                choice.instrument,
            )
        )
        graces = []
    return found, left + graces


def _close(notes: list[Played], tick: int, line: str, grace: MaterialNote) -> None:
    """Hang a grace note that leads to none on the last note before it, of its own line if there is one; on the first note
    of all where it comes before."""
    before = [k for k, note in enumerate(notes) if note.onset < tick]
    own = [k for k in before if notes[k].line == line]
    index = (own or before or [0])[-1]
    host = notes[index]
    own_pitch = _shifted(grace, -host.octave)
    if before:
        notes[index] = replace(host, after=(*host.after, own_pitch))
    else:
        notes[index] = replace(host, graces=(*host.graces, own_pitch))


def _written_out(graces: Sequence[tuple[int, str, MaterialNote]], grid: Grid) -> Iterator[Played]:
    """Grace notes of a player who has nothing else: short notes, one after the other."""
    length = max(1, grid.ticks // SHORT)
    at = 0
    for tick, name, grace in graces:
        at = max(at, tick)
        end = min(at + length, grid.bars[-1].end)
        if at < end:
            yield Played(replace(grace, duration=end - at, grace=""), at, end, 0, name)
        at = end


def _shifted(note: MaterialNote, octaves: int) -> MaterialNote:
    return replace(note, pitch=note.pitch.shifted(octaves))


def once_a_pitch(notes: Sequence[Played], single: bool = False) -> list[Played]:
    """Notes by onset, none held while the same pitch (any pitch, where `single`) is attacked again, none twice at once."""
    kept: list[Played] = []
    sounding: dict[int, int] = {}
    for note in notes:
        key = 0 if single else note.midi
        last = sounding.get(key)
        if last is not None and kept[last].end > note.onset:
            before = kept[last]
            if before.onset == note.onset:
                if not single:
                    kept[last] = replace(before, end=max(before.end, note.end), graces=before.graces or note.graces)
                continue
            kept[last] = replace(before, end=note.onset)
        sounding[key] = len(kept)
        kept.append(note)
    return kept
