"""One cue as a layer sees it: sketch, reading, plan, players and brief together, with the questions that layers ask of them."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from autoorch.brief import Bars, Brief
from autoorch.errors import BriefError
from autoorch.instruments import DYNAMICS
from autoorch.layers.model import PhrasePlan
from autoorch.lineup import Lineup
from autoorch.pitch import Pitch, from_midi
from autoorch.roles.model import Chord, Moment, Reading
from autoorch.roles.names import signature
from autoorch.sketch.bars import beat_at, ticks_of
from autoorch.sketch.model import Sketch, SketchNote
from autoorch.sketch.tempo import TempoMap
from autoorch.tables import Tables

_CENTRE = 2
"""The middle of a signature's seven notes lies two fifths above its tonic."""
_MANY_BARS = 32
SOLO = "solo"
CHORALE = ("hymn",)
"""Textures of voices that are parts already."""
HALVED = (4, 6, 12)
"""Beats of bars that halve."""
ASKED = 2.0
"""Strength of a moment that the brief names: above all that a reading finds."""


def at_most(sketch: Sketch, in_32_bars: float) -> int:
    """How many of a thing the whole sketch may have where a table allows so many in 32 bars: one at least."""
    return max(1, round(in_32_bars * len(sketch.bars) / _MANY_BARS))


@dataclass(frozen=True)
class Cue:
    """All that layers are made from."""

    sketch: Sketch
    reading: Reading
    plan: tuple[PhrasePlan, ...]
    lineup: Lineup
    brief: Brief
    tables: Tables

    @cached_property
    def moments(self) -> tuple[Moment, ...]:
        """The reading's and the brief's, in time order; of one kind at one place only the strongest.

        Raises:
            BriefError: for a moment in a bar or on a beat that is not there.
        """
        best: dict[tuple[int, str], Moment] = {}
        for moment in (*self.reading.moments, *self.asked):
            key = moment.onset, moment.kind
            if key not in best or moment.strength > best[key].strength:
                best[key] = moment
        return tuple(best[key] for key in sorted(best))

    @cached_property
    def asked(self) -> tuple[Moment, ...]:
        """The brief's moments, in its order; what is raised is that of `moments`."""
        return tuple(Moment(self._tick(hit.bar, hit.beat), hit.kind, ASKED) for hit in self.brief.moments)

    def _tick(self, bar: str, beat: float) -> int:
        start, end = ticks_of(self.sketch, Bars(bar, bar))
        tick = start + self.beats(start, beat - 1)
        if tick >= end:
            last = int(beat_at(self.sketch, end - 1))
            raise BriefError(f"moment, bar {bar}: there is no beat {beat:g}; the bar has {last}")
        return tick

    def beats(self, tick: int, count: float) -> int:
        """Ticks of so many beats in the metre at `tick`."""
        return round(count * self.sketch.ticks * 4 / self.sketch.bar_at(tick).metre[1])

    def on_beat(self, tick: int) -> bool:
        return (tick - self.sketch.bar_at(tick).onset) % max(1, self.beats(tick, 1)) == 0

    def strong(self, tick: int) -> bool:
        """A bar's first beat, or the middle of a bar that halves."""
        bar = self.sketch.bar_at(tick)
        place = tick - bar.onset
        return place == 0 or (bar.metre[0] in HALVED and 2 * place == bar.length)

    def quarters(self, count: float) -> int:
        """Ticks of so many quarters, at least one tick."""
        return max(1, round(count * self.sketch.ticks))

    @cached_property
    def _starts(self) -> list[int]:
        return [phrase.start for phrase in self.plan]

    def phrase_at(self, tick: int) -> int:
        """Index of the phrase that holds `tick`."""
        return max(0, bisect_right(self._starts, tick) - 1)

    def plan_at(self, tick: int) -> PhrasePlan:
        return self.plan[self.phrase_at(tick)]

    @cached_property
    def _chord_starts(self) -> list[int]:
        return [chord.start for chord in self.reading.chords]

    def chord_at(self, tick: int) -> Chord | None:
        """The chord in force, where it is one of thirds."""
        index = bisect_right(self._chord_starts, tick) - 1
        chord = self.reading.chords[index] if index >= 0 else None
        return chord if chord and chord.members and tick < chord.end else None

    def chords_in(self, start: int, end: int) -> list[tuple[Chord, int, int]]:
        """Chords of thirds that sound in [start, end), each with its part of it."""
        return [
            (chord, max(chord.start, start), min(chord.end, end))
            for chord in self.reading.chords
            if chord.members and chord.start < end and chord.end > start
        ]

    @cached_property
    def leading(self) -> frozenset[str]:
        """Ids of all notes of the melody."""
        strands = [strand for strand in self.reading.strands if strand.role == "melody"]
        return frozenset(note for strand in strands for line in strand.lines for note in line.notes)

    @cached_property
    def tune(self) -> tuple[SketchNote, ...]:
        """Notes of the melody's principal line, in time order."""
        ids = [note for strand in self.reading.strands if strand.role == "melody" for note in strand.lines[0].notes]
        notes = (self.sketch.by_id[note] for note in ids)
        return tuple(sorted((n for n in notes if n.duration), key=lambda n: (n.onset, n.id)))

    @cached_property
    def bass(self) -> tuple[SketchNote, ...]:
        """Notes of the bass, in time order."""
        ids = [note for strand in self.reading.strands if strand.role == "bass" for note in strand.lines[0].notes]
        notes = (self.sketch.by_id[note] for note in ids)
        return tuple(sorted((n for n in notes if n.duration), key=lambda n: (n.onset, n.id)))

    def tune_at(self, tick: int) -> SketchNote | None:
        """The tune's note that sounds at `tick`."""
        index = bisect_right(self.tune, tick, key=lambda n: n.onset) - 1
        note = self.tune[index] if index >= 0 else None
        return note if note and note.end > tick else None

    @cached_property
    def tempo(self) -> TempoMap:
        return TempoMap(self.sketch, self.reading.tempo)

    def seconds(self, start: int, end: int) -> float:
        return self.tempo.seconds(end) - self.tempo.seconds(start)

    @cached_property
    def _marks(self) -> list[tuple[int, str]]:
        return sorted((m.onset, m.value) for m in self.sketch.marks if m.kind == "dynamic" and m.value in DYNAMICS)

    def dynamic_at(self, tick: int) -> str:
        """The dynamic in force: the sketch's last mark inside the phrase, else the phrase's own."""
        plan = self.plan_at(tick)
        index = bisect_right(self._marks, tick, key=lambda mark: mark[0]) - 1
        return self._marks[index][1] if index >= 0 and self._marks[index][0] >= plan.start else plan.dynamic

    def swell(self, tick: int, steps: int) -> tuple[str, str]:
        """So many degrees softer than the dynamic at `tick`, and that dynamic."""
        level = DYNAMICS.index(self.dynamic_at(tick))
        return DYNAMICS[max(0, level - steps)], DYNAMICS[level]

    def spelled(self, midi: int, tick: int) -> Pitch:
        """A pitch by the letter that the sketch has for it in the chord in force, else spelled by that chord's key, in the
        enharmonic key nearest to the signature."""
        bar, chord = self.sketch.bar_at(tick), self.chord_at(tick)
        named = self._letters.get((chord.start, midi % 12)) if chord else None
        if named is not None:
            return named.shifted((midi - named.midi) // 12)
        sharps = signature(chord.key if chord else self.reading.key)
        near = min((sharps, sharps - 12, sharps + 12), key=lambda s: (abs(s - bar.fifths), s))
        return from_midi(midi, near + _CENTRE)

    @cached_property
    def _letters(self) -> dict[tuple[int, int], Pitch]:
        """(start of a chord, pitch class) -> the first note of that name that the sketch attacks in the chord."""
        found: dict[tuple[int, int], Pitch] = {}
        for note in self.sketch.notes:
            index = bisect_right(self._chord_starts, note.onset) - 1
            if index >= 0 and abs(note.pitch.alter) <= 1:
                found.setdefault((self._chord_starts[index], note.pitch.midi % 12), note.pitch)
        return found

    @cached_property
    def chorale(self) -> bool:
        """The whole sketch is tune, bass and full voices between them."""
        others = [strand for strand in self.reading.strands if strand.role not in ("melody", "bass")]
        return bool(others) and all(strand.texture in CHORALE for strand in others)

    def place(self, tick: int) -> str:
        """ "bar 17", with the beat where it is not the first."""
        bar = self.sketch.bar_at(tick)
        beat = 1 + (tick - bar.onset) * bar.metre[1] / (4 * self.sketch.ticks)
        return f"bar {bar.number}" if beat == 1 else f"bar {bar.number}, beat {beat:g}"

    def alone(self, phrase: int) -> bool:
        """The plan has a phrase for one family or a solo, where the line-up has others: a band's winds are not alone."""
        scheme = self.plan[phrase].scheme
        families = {p.instrument.family for p in self.lineup.players if p.instrument.kind in ("wind", "bowed")}
        return scheme in self.tables.rule("finish")["schemes"] and (scheme == SOLO or "strings" in families)

    def seats(self, instruments: Sequence[str]) -> int:
        """Players who have one of the instruments, as their own or to change to."""
        return sum(
            1
            for p in self.lineup.players
            if p.instrument.id in instruments or any(d.id in instruments for d in p.doubles)
        )
