"""Cues: before an entry after a long rest a part shows in small notes what somebody else plays, as its reader would write it;
on a percussionist's line its rhythm.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from statistics import mean

from autoorch.pitch import Pitch
from autoorch.score.clefs import away
from autoorch.score.model import Direction, Event, Head, Measure, Part, Score
from autoorch.score.transpose import interval_of, written_pitch

OCTAVE = 7
"""Letters."""


@dataclass
class Cues:
    """Finds cues in a whole score.

    Attributes:
        heard: for each part and bar what can be seen there in small notes: events of its first voice, or () where it
            rests or can't be shown.
    """

    score: Score
    heard: list[list[tuple[Event, ...]]] = field(init=False)

    def __post_init__(self) -> None:
        self.heard = [[_shown(part, measure) for measure in part.measures] for part in self.score.parts]

    def given(self, part: Part, others: Sequence[Part] = ()) -> Part:
        """The part with its cues, on the first staff where it has two; `others` are further staves of the same player."""
        measures = list(part.measures)
        reader = {staff.id for staff in (part, *others)}
        for end, length in _rests(beside((part, *others))):
            bars = range(end - min(length - 1, self.score.house.cues["bars"]), end)
            other = self._other(reader, bars) if length >= self.score.house.cues["after_bars"] else None
            if other is not None:
                self._write(measures, part, other, bars)
        return replace(part, measures=tuple(measures))

    def _other(self, reader: Collection[str], bars: range) -> int | None:
        """Whom the reader hears best: who plays through these bars, moves most plainly and lies highest."""
        ranked = []
        for index, own in enumerate(self.heard):
            events = [event for k in bars for event in own[k]]
            sounding = [event for event in events if event.heads]
            if self.score.parts[index].id in reader or not all(any(e.heads for e in own[k]) for k in bars):
                continue
            attacks = sum(not e.heads[-1].tie_stop for e in sounding)
            moving = len({e.heads[-1].sounding.midi for e in sounding}) > 1
            height = mean(e.heads[-1].sounding.midi for e in sounding)
            share = sum(e.duration for e in sounding) / sum(e.duration for e in events)
            ranked.append(
                (moving, share > self.score.house.cues["sounding"], attacks > len(bars), round(height), -index)
            )
        return -max(ranked)[-1] if ranked else None

    def _write(self, measures: list[Measure], part: Part, other: int, bars: range) -> None:
        lines = {k: [e for e in self.heard[other][k] if not e.grace] for k in bars}
        heads = [e.heads[-1].sounding for own in lines.values() for e in own if e.heads]
        shift = self._octaves(part, measures[bars[0]], bars[0], heads)
        small = [self._small(part, measures[k], k, event, shift) for k in bars for event in lines[k]]
        small = _untied(small)
        name = self.score.parts[other].short
        for k in bars:
            cue, small = tuple(small[: len(lines[k])]), small[len(lines[k]) :]
            told = (Direction("words", _onset(cue), name),) if k == bars[0] else ()
            measures[k] = replace(
                measures[k],
                voices=(cue, *measures[k].voices),
                staff_of=(1, *measures[k].staff_of),
                directions=(*measures[k].directions, *told),
            )

    def _octaves(self, part: Part, measure: Measure, index: int, heads: Sequence[Pitch]) -> int:
        """Octaves to move a cue so that it lies about the middle of the reader's staff."""
        if part.player.instrument.kind == "unpitched":
            return 0
        clef = next((name for m in part.measures[index::-1] for staff, name in m.clefs if staff == 1), "treble")
        letters = mean(away(self._written(part, measure, index, pitch).diatonic, clef) for pitch in heads)
        return -round(letters / OCTAVE)

    def _written(self, part: Part, measure: Measure, index: int, sounding: Pitch) -> Pitch:
        interval = interval_of(part, measure, self.score.concert)
        return written_pitch(sounding, interval, self.score.bars[index].fifths, measure.fifths)

    def _small(self, part: Part, measure: Measure, index: int, event: Event, shift: int) -> Event:
        heads: tuple[Head, ...] = ()
        if event.heads:
            top = event.heads[-1]
            written = self._written(part, measure, index, top.sounding).shifted(shift)
            heads = (replace(top, sounding=top.sounding.shifted(shift), written=written),)
        return replace(event, heads=heads, marks=(), slur_starts=(), slur_stops=(), lyric="", cue=True)


def beside(parts: Sequence[Part]) -> tuple[Measure, ...]:
    """The bars of all staves of one player as if they were one."""
    return tuple(
        replace(
            own[0],
            voices=tuple(voice for measure in own for voice in measure.voices),
            staff_of=tuple(staff for measure in own for staff in measure.staff_of),
            directions=tuple(direction for measure in own for direction in measure.directions),
            clefs=tuple(clef for measure in own for clef in measure.clefs),
        )
        for own in zip(*(part.measures for part in parts), strict=True)
    )


def _shown(part: Part, measure: Measure) -> tuple[Event, ...]:
    """What a cue can show of a bar: one staff, one voice, notes with a pitch."""
    if part.staves > 1 or len(measure.voices) > 1 or part.player.instrument.kind == "unpitched":
        return ()
    return measure.voices[0] if any(event.heads for event in measure.voices[0]) else ()


def _rests(measures: Sequence[Measure]) -> Iterator[tuple[int, int]]:
    """(bar of the entry, silent bars before it) of each entry after whole silent bars."""
    silent = 0
    for index, measure in enumerate(measures):
        if any(event.heads for voice in measure.voices for event in voice):
            if silent:
                yield index, silent
            silent = 0
        else:
            silent += 1


def _untied(cue: Sequence[Event]) -> list[Event]:
    """Only ties between two notes of the cue that are one."""
    found = list(cue)
    for k, event in enumerate(found):
        if event.heads:
            head = event.heads[0]
            held = head.tie_stop and k > 0 and _same(found[k - 1], event)
            goes_on = head.tie_start and k + 1 < len(found) and _same(event, found[k + 1])
            found[k] = replace(event, heads=(replace(head, tie_stop=held, tie_start=goes_on),))
    return found


def _same(one: Event, two: Event) -> bool:
    return bool(one.heads and two.heads) and one.heads[0].written == two.heads[0].written


def _onset(cue: Sequence[Event]) -> int:
    return next(event.onset for event in cue if event.heads)
