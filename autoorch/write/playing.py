"""What a part sounds like: its written events as notes in playing order, ties joined, ornaments and grace notes played out.

Times are MIDI ticks, 480 a quarter; each onset is rounded by itself, so that nothing drifts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from autoorch.pitch import STEPS, Pitch
from autoorch.score.idiom import SINGLE_TREMOLO, is_single_tremolo
from autoorch.score.model import Event, Head, Part, Score
from autoorch.write.accidentals import key_alters
from autoorch.write.loudness import Loudness

QUARTER = 480
QUICK = QUARTER // 8
"""One note of a trill, a mordent, a group of grace notes."""
SHORTER = {"staccatissimo": 0.3, "staccato": 0.5, "spiccato": 0.5, "detached-legato": 0.75}
"""Part of its written length that a note is held (our choice)."""
LOUDER = {"accent": 12, "strong-accent": 18, "stress": 8}
"""Added to the velocity (our choice)."""


@dataclass(frozen=True, slots=True)
class Sound:
    """A note: MIDI ticks, MIDI number, velocity."""

    start: int
    end: int
    midi: int
    velocity: int


@dataclass(slots=True)
class _Note:
    """A note while its ties are joined; positions in score ticks from the beginning of the playing."""

    start: int
    end: int
    head: Head
    marks: tuple[str, ...]
    velocity: float
    fifths: int
    graces: list[Event]


class Clock:
    """Score ticks to MIDI ticks, along the played bars."""

    def __init__(self, score: Score, order: Sequence[int]) -> None:
        self.ticks = score.ticks
        self.starts: list[int] = []
        at = 0
        for index in order:
            self.starts.append(at)
            at += score.bars[index].length
        self.end = at

    def midi(self, tick: int | Fraction) -> int:
        """The nearest MIDI tick (halves go up)."""
        return int((2 * tick * QUARTER + self.ticks) // (2 * self.ticks))


def sounds(score: Score, part: Part, order: Sequence[int], clock: Clock, loudness: Loudness) -> list[Sound]:
    """All notes of a part by start and pitch. `order` is the playing order of the bars."""
    found = [sound for note in _joined(score, part, order, clock, loudness) for sound in _played(note, part, clock)]
    return _apart(sorted(found, key=lambda s: (s.start, s.midi, s.end)))


def _joined(score: Score, part: Part, order: Sequence[int], clock: Clock, loudness: Loudness) -> Iterable[_Note]:
    held: dict[tuple[int, int], _Note] = {}
    finished: list[_Note] = []
    before = -1
    for index, base in zip(order, clock.starts, strict=True):
        if index != before + 1:
            finished += held.values()
            held = {}
        before = index
        bar, measure = score.bars[index], part.measures[index]
        for voice, events in enumerate(measure.voices):
            staff = measure.staff_of[voice]
            graces: list[Event] = []
            for event in events:
                if event.grace:
                    graces.append(event)
                    continue
                start = base + event.onset
                for head in event.heads:
                    key = (staff, head.sounding.midi)
                    if head.tie_stop and key in held:
                        note = held.pop(key)
                        note.end = start + event.duration
                    else:
                        tick = bar.onset + event.onset
                        velocity = loudness.at(tick) + loudness.attacks.get(tick, 0)
                        note = _Note(start, start + event.duration, head, event.marks, velocity, bar.fifths, graces)
                    graces = []
                    if head.tie_start:
                        held[key] = note
                    else:
                        finished.append(note)
    return [*finished, *held.values()]


def _played(note: _Note, part: Part, clock: Clock) -> list[Sound]:
    start, end = clock.midi(note.start), clock.midi(note.end)
    velocity = note.velocity + max((LOUDER.get(mark, 0) for mark in note.marks), default=0)
    loud = max(1, min(127, round(velocity)))
    found: list[Sound] = []
    if note.graces:
        found, start = _graces(note, start, end, loud)
    if part.player.instrument.gm == 0:
        key = part.player.instrument.gm_key
        return [Sound(start, max(end, start + 1), key, loud)]
    pitches = _ornament(note, end - start)
    at = start
    for pitch, length in pitches[:-1]:
        found.append(Sound(at, at + length, pitch, loud))
        at += length
    part_of = min((SHORTER[mark] for mark in note.marks if mark in SHORTER), default=1.0)
    found.append(Sound(at, max(at + 1, at + round((end - at) * part_of)), pitches[-1][0], loud))
    return found


def _graces(note: _Note, start: int, end: int, loud: int) -> tuple[list[Sound], int]:
    """Sounds of the grace notes and where their main note then begins: a long one takes half of it, short ones come before
    the beat (on it at the very beginning)."""
    count = len(note.graces)
    if count == 1 and note.graces[0].grace == "appoggiatura":
        length, at = max(1, (end - start) // 2), start
    else:
        length = min(QUICK, max(1, (end - start) // (2 * count)))
        at = start - count * length
        if at < 0:
            at = start
    found = []
    for grace in note.graces:
        found += [Sound(at, at + length, head.sounding.midi, loud) for head in grace.heads]
        at += length
    return found, at


def _ornament(note: _Note, length: int) -> list[tuple[int, int]]:
    """(MIDI number, MIDI ticks) of what is played for a note; the last one takes the rest of its time."""
    main = note.head.sounding.midi
    marks = note.marks
    upper, lower = (_neighbour(note.head.sounding, step, note.fifths) for step in (1, -1))
    tremolo = next((int(mark[len(SINGLE_TREMOLO) :]) for mark in marks if is_single_tremolo(mark)), 0)
    quick = min(QUICK, max(1, length // 4))
    if tremolo:
        unit = max(1, QUARTER >> tremolo)
        return [(main, unit)] * max(1, length // unit)
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
    return [(main, length)]


def _neighbour(pitch: Pitch, step: int, fifths: int) -> int:
    """MIDI number of the next letter up or down in the key."""
    octave, letter = divmod(pitch.diatonic + step, 7)
    return Pitch(STEPS[letter], key_alters(fifths)[STEPS[letter]], octave).midi


def _apart(found: list[Sound]) -> list[Sound]:
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
