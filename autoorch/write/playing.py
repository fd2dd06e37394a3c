"""What a part sounds like: its written events as notes in playing order, ties joined, ornaments, tremolos, rolled chords and
grace notes played out. Times are MIDI ticks.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from autoorch.pitch import STEPS, Pitch, key_alters
from autoorch.score.idiom import ARPEGGIO, SINGLE_TREMOLO, is_single_tremolo
from autoorch.score.model import Event, Head, Measure, Part, Score
from autoorch.score.rhythm import FLAGS
from autoorch.score.tremolo import START, STOP
from autoorch.write.clock import QUARTER, Clock
from autoorch.write.loudness import Loudness
from autoorch.write.manner import Manner
from autoorch.write.tempo import TempoMap


@dataclass(frozen=True, slots=True)
class Sound:
    """A note: MIDI ticks, MIDI number, velocity, id of the material note that it comes from."""

    start: int
    end: int
    midi: int
    velocity: int
    source: str = ""


@dataclass(slots=True)
class _Note:
    """A note while its ties are joined; positions in score ticks from the beginning of the playing.

    Attributes:
        rolled: how many notes of a rolled chord come before it.
        strokes: beams of its tremolo, flags of its value included; `other`: heads of the second chord of a tremolo of two.
    """

    start: int
    end: int
    head: Head
    marks: tuple[str, ...]
    velocity: float
    fifths: int
    graces: list[Event]
    rolled: int = 0
    strokes: int = 0
    other: tuple[Head, ...] = ()
    second: bool = False


@dataclass(frozen=True)
class Player:
    """What it takes to play one part: `order` is the playing order of the bars."""

    score: Score
    part: Part
    order: Sequence[int]
    clock: Clock
    tempo: TempoMap
    loudness: Loudness
    manner: Manner

    def sounds(self) -> list[Sound]:
        """All notes by start and pitch."""
        found = [sound for note in self._joined() for sound in self._played(note)]
        return apart(sorted(found, key=lambda s: (s.start, s.midi, s.end)))

    def _joined(self) -> Iterable[_Note]:
        held: dict[tuple[int, int], list[_Note]] = defaultdict(list)
        finished: list[_Note] = []
        before = -1
        for index, base in zip(self.order, self.clock.starts, strict=True):
            if index != before + 1:
                finished += (note for notes in held.values() for note in notes)
                held.clear()
            before = index
            for staff, event, graces, pair in _events(self.part.measures[index]):
                for note in self._struck(index, base, event, graces, pair):
                    key = (staff, note.head.sounding.midi)
                    tied = [other for other in held[key] if other.end == note.start] if note.head.tie_stop else []
                    if tied:
                        held[key].remove(tied[0])
                        tied[0].end = note.end
                    open_note = tied[0] if tied else note
                    (held[key] if note.head.tie_start else finished).append(open_note)
        return [*finished, *(note for notes in held.values() for note in notes)]

    def _struck(
        self, index: int, base: int, event: Event, graces: list[Event], pair: tuple[Event, Event] | None
    ) -> Iterable[_Note]:
        bar = self.score.bars[index]
        start, tick = base + event.onset, bar.onset + event.onset
        velocity = self.loudness.at(tick) + self.loudness.attacks.get(tick, 0)
        for place, head in enumerate(event.heads):
            rolled = place if ARPEGGIO in event.marks else 0
            note = _Note(start, start + event.duration, head, event.marks, velocity, bar.fifths, graces, rolled)
            graces = []
            strokes = next((int(m[len(SINGLE_TREMOLO) :]) for m in event.marks if is_single_tremolo(m)), 0)
            # strokes come on top of the flags (common practice)
            note.strokes = strokes + FLAGS.get(event.value, 0) if strokes else 0
            if pair:
                first, second = pair
                note.strokes = _pair_strokes(first)
                note.second = event is second
                note.start, note.end = base + first.onset, base + second.onset + second.duration
            yield note

    def _played(self, note: _Note) -> list[Sound]:
        start, end = self.clock.midi(note.start), self.clock.midi(note.end)
        accents, lengths = self.manner["accent"], self.manner["length"]
        louder = max((accents.get(mark, 0) for mark in note.marks), default=0)
        loud = max(1, min(127, round(note.velocity + louder)))
        quick = self._quick(start)
        found: list[Sound] = []
        source = note.head.source
        if note.graces:
            found, start = _graces(note, start, end, loud, quick)
        instrument = self.part.player.instrument
        if note.strokes:
            unit = QUARTER // min(self.manner["ornament"]["fastest"], 1 << note.strokes)
            pitch = note.head.sounding.midi if instrument.gm else instrument.gm_key
            return found + _tremolo(note, pitch, start, end, unit, loud)
        if not instrument.gm:
            return [*found, Sound(start, max(end, start + 1), instrument.gm_key, loud, source)]
        if note.rolled:
            start = min(start + note.rolled * (QUARTER // self.manner["ornament"]["roll"]), end - 1)
        pitches = _ornament(note, end - start, quick)
        at = start
        for pitch, length in pitches[:-1]:
            found.append(Sound(at, at + length, pitch, loud, source))
            at += length
        part_of = min((lengths[mark] for mark in note.marks if mark in lengths), default=1.0)
        found.append(Sound(at, max(at + 1, at + round((end - at) * part_of)), pitches[-1][0], loud, source))
        return found

    def _quick(self, tick: int) -> int:
        """MIDI ticks of one note of a trill at this tempo: the division of a quarter nearest to the usual rate."""
        table = self.manner["ornament"]
        wanted = 60 * table["rate"] / self.tempo.quarters_a_minute(tick)
        division: int = min(table["divisions"], key=lambda d: max(d / wanted, wanted / d))
        return QUARTER // division


def _events(measure: Measure) -> Iterable[tuple[int, Event, list[Event], tuple[Event, Event] | None]]:
    """(staff, event, its grace notes, the two chords of its tremolo) of a bar; cues are for the eye."""
    for staff, voice in zip(measure.staff_of, measure.voices, strict=True):
        graces: list[Event] = []
        voice = tuple(event for event in voice if not event.cue)
        plain = [event for event in voice if not event.grace]
        pairs: dict[int, tuple[Event, Event]] = {}
        for first, second in pairwise(plain):
            if _pair_strokes(first) and any(mark.startswith(STOP) for mark in second.marks):
                pairs[id(first)] = pairs[id(second)] = (first, second)
        for event in voice:
            if event.grace:
                graces.append(event)
                continue
            yield staff, event, graces, pairs.get(id(event))
            graces = []


def _pair_strokes(event: Event) -> int:
    return next((int(m[len(START) :]) for m in event.marks if m.startswith(START)), 0)


def _tremolo(note: _Note, pitch: int, start: int, end: int, unit: int, loud: int) -> list[Sound]:
    """Strokes of one pitch; of two chords in turn each takes every other stroke, the first one begins."""
    count = max(1, round((end - start) / unit))
    paired = note.second or any(mark.startswith(START) for mark in note.marks)
    strokes = range(int(note.second), max(count, 2) if paired else count, 2 if paired else 1)
    edges = [start + k * unit for k in range(count)] + [end] * 2
    return [
        Sound(edges[k], max(edges[k] + 1, edges[k + 1]), pitch, loud, note.head.source)
        for k in strokes
        if edges[k] < end
    ]


def _graces(note: _Note, start: int, end: int, loud: int, quick: int) -> tuple[list[Sound], int]:
    """Sounds of the grace notes and where their main note then begins: a long one takes half of it, short ones come before
    the beat (on it at the very beginning)."""
    count = len(note.graces)
    if count == 1 and note.graces[0].grace == "appoggiatura":
        length, at = max(1, (end - start) // 2), start
    else:
        length = min(quick, max(1, (end - start) // (2 * count)))
        at = start - count * length
        if at < 0:
            at = start
    found = []
    for grace in note.graces:
        found += [Sound(at, at + length, head.sounding.midi, loud, head.source) for head in grace.heads]
        at += length
    return found, max(at, start)


def _ornament(note: _Note, length: int, quick: int) -> list[tuple[int, int]]:
    """(MIDI number, MIDI ticks) of what is played for a note; the last one takes the rest of its time."""
    main = note.head.sounding.midi
    marks = note.marks
    upper, lower = (_neighbour(note.head.sounding, step, note.fifths) for step in (1, -1))
    quick = min(quick, max(1, length // 4))
    if "trill-mark" in marks or "shake" in marks:
        count = max(3, length // quick)
        count -= 1 - count % 2
        return [(main if k % 2 == 0 else upper, quick) for k in range(count)]
    if "inverted-mordent" in marks:
        return [(main, quick), (upper, quick), (main, quick)]
    if "mordent" in marks:
        return [(main, quick), (lower, quick), (main, quick)]
    if "turn" in marks:
        return [(upper, quick), (main, quick), (lower, quick), (main, quick)]
    if "inverted-turn" in marks:
        return [(lower, quick), (main, quick), (upper, quick), (main, quick)]
    if "delayed-turn" in marks or "delayed-inverted-turn" in marks:
        after = (upper, main, lower) if "delayed-turn" in marks else (lower, main, upper)
        return [(main, length - 4 * quick), *((pitch, quick) for pitch in after), (main, quick)]
    return [(main, length)]


def _neighbour(pitch: Pitch, step: int, fifths: int) -> int:
    """MIDI number of the next letter up or down in the key."""
    octave, letter = divmod(pitch.diatonic + step, 7)
    return Pitch(STEPS[letter], key_alters(fifths)[STEPS[letter]], octave).midi


def apart(found: list[Sound]) -> list[Sound]:
    """No pitch sounds twice at once: each ends when it is struck again."""
    last: dict[int, int] = {}
    kept: list[Sound] = []
    for sound in found:
        if sound.midi in last and kept[last[sound.midi]].end > sound.start:
            place = last[sound.midi]
            if kept[place].start == sound.start:
                kept[place] = replace(kept[place], end=max(kept[place].end, sound.end))
                continue
            kept[place] = replace(kept[place], end=sound.start)
        last[sound.midi] = len(kept)
        kept.append(sound)
    return kept
