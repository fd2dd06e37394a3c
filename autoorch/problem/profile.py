"""What a run of notes asks of whoever plays it, before anyone is chosen: compass, speed, leaps, held notes, breath."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from autoorch.layers.model import MaterialNote


@dataclass(frozen=True, slots=True)
class Profile:
    """Facts of one line over one span, at its own pitch.

    Attributes:
        notes: the notes that start in the span.
        weights: (MIDI pitch, milliseconds) of all sounding notes, by pitch.
        mean: mean sounding pitch, MIDI, rounded.
        low, high: MIDI.
        onset, end: ticks of the first attack and of the last release.
        sounding: milliseconds of sound.
        held: longest note, milliseconds.
        stretch: longest time without a gap long enough to breathe, milliseconds.
        rests: a gap long enough to breathe lies inside or at the end of the span.
        repeated, moving: fastest few intervals that mostly repeat / mostly change pitch, notes per 100 seconds.
        leaps: semitones of all melodic steps over an octave without time to breathe between.
    """

    notes: tuple[MaterialNote, ...]
    weights: tuple[tuple[int, int], ...]
    mean: int
    low: int
    high: int
    onset: int
    end: int
    sounding: int
    held: int
    stretch: int
    rests: bool
    repeated: int
    moving: int
    leaps: tuple[int, ...]


def profile(
    notes: Sequence[MaterialNote], span_end: int, seconds: Callable[[int], float], table: Mapping[str, Any]
) -> Profile:
    """The facts of `notes` (in time order, at least one), with `span_end` in ticks and `seconds` from ticks.

    Args:
        table: constraints/playability.toml: how long a breath takes, and over how many intervals a speed is taken.
    """
    breath, steps = table["breath"]["gap_s"], table["speed"]["intervals"]
    real = [note for note in notes if note.duration > 0]
    weights: dict[int, int] = {}
    held = stretch = sounding = 0
    rests = False
    run_start = previous_end = None
    times: list[tuple[float, int, int]] = []
    leaps = []
    previous: MaterialNote | None = None
    for note in real:
        start, end = seconds(note.onset), seconds(note.end)
        length = round(1000 * (end - start))
        weights[note.pitch.midi] = weights.get(note.pitch.midi, 0) + max(1, length)
        held, sounding = max(held, length), sounding + length
        if run_start is None or previous_end is None:
            run_start = start
        elif start - previous_end >= breath:
            rests = True
            run_start = start
        stretch = max(stretch, round(1000 * (end - run_start)))
        if previous is not None and previous_end is not None and start - previous_end < breath:
            step = abs(note.pitch.midi - previous.pitch.midi)
            if step > 12:
                leaps.append(step)
        times.append((start, note.pitch.midi, note.onset))
        previous, previous_end = note, end
    if previous_end is not None and seconds(span_end) - previous_end >= breath:
        rests = True
    repeated = moving = 0
    for index in range(len(times) - steps):
        window = times[index : index + steps + 1]
        length_s = window[-1][0] - window[0][0]
        if length_s <= 0:
            continue
        rate = round(100 * steps / length_s)
        if 2 * sum(one[1] == two[1] for one, two in pairwise(window)) > steps:
            repeated = max(repeated, rate)
        else:
            moving = max(moving, rate)
    pitches = [note.pitch.midi for note in notes]
    total = sum(weights.values())
    return Profile(
        notes=tuple(notes),
        weights=tuple(sorted(weights.items())),
        mean=round(sum(pitch * weight for pitch, weight in weights.items()) / total) if total else min(pitches),
        low=min(pitches),
        high=max(pitches),
        onset=notes[0].onset,
        end=max(note.end for note in notes),
        sounding=sounding,
        held=held,
        stretch=stretch,
        rests=rests,
        repeated=repeated,
        moving=moving,
        leaps=tuple(leaps),
    )
