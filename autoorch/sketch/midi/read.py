"""A standard MIDI file as a sketch: a stave a track, bars by its metres, pitches spelled by its keys."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import pairwise
from math import lcm

from autoorch.errors import SketchError
from autoorch.pitch import from_midi, parse
from autoorch.sketch.guard import Limits
from autoorch.sketch.midi.events import Events, Sound, read_events
from autoorch.sketch.midi.grid import is_played, notated, played
from autoorch.sketch.model import Bar, Mark, Sketch, Staff
from autoorch.sketch.number import Loose, numbered
from autoorch.sketch.staves import hint

MAJOR = (0, 2, 4, 5, 7, 9, 11)
CENTRE = 2
"""The twelve names of a key with n sharps have their centre at n + 2 on the line of fifths."""


def is_midi(data: bytes) -> bool:
    """Whether the bytes begin as a standard MIDI file does."""
    return data.startswith(b"MThd")


def read_midi(data: bytes, file: str, limits: Limits, as_played: bool | None = None) -> Sketch:
    """Read a MIDI file; `as_played` says whether it was played in, None has it found out.

    Raises:
        SketchError: where the file is broken, without notes or beyond the limits.
    """
    events = read_events(data, file, limits)
    sounds = sorted(events.sounds, key=lambda s: (s.start, s.stave, s.pitch, s.end))
    staves = sorted({sound.stave for sound in sounds})
    if len(staves) > limits.staves:
        raise SketchError(f"has {len(staves)} tracks with notes; a sketch has {limits.staves} staves at most", file)
    loose_time = is_played(sounds, events.division) if as_played is None else as_played
    places = (played if loose_time else notated)(sounds, events.division)
    bars, ticks = _bars(events, places, file, limits)
    known = bool(events.keys)
    fifths = _fifths(sounds)
    loose = []
    for sound, (onset, length) in zip(sounds, places, strict=True):
        tick = int(onset * ticks)
        key = _bar_at(bars, tick).fifths if known else fifths
        pitch = from_midi(sound.pitch, key + CENTRE)
        loose.append(Loose(tick, int(length * ticks), pitch, staves.index(sound.stave), 0, sound.velocity))
    notes, ids = numbered(loose)
    clock = _Clock(events)
    raw = {ids[k]: (clock(s.start), clock(s.end) - clock(s.start)) for k, s in enumerate(sounds)} if loose_time else {}
    return Sketch(
        ticks,
        tuple(Staff(k, events.names[s], hint(events.names[s])) for k, s in enumerate(staves)),
        bars if known else tuple(_with_key(bar, fifths) for bar in bars),
        notes,
        marks=_marks(events, ticks, staves, bars[-1].end),
        title=events.title,
        source="midi",
        lost=(f"{events.drums} drum notes (channel 10)",) if events.drums else (),
        notices=_notices(events, loose_time, as_played, known, fifths),
        raw=raw,
    )


def _bars(
    events: Events, places: list[tuple[Fraction, Fraction]], file: str, limits: Limits
) -> tuple[tuple[Bar, ...], int]:
    """Bars from the first tick to the last release, and the ticks a quarter that all places need."""
    changes = {0: (4, 4)}
    for tick, beats, unit in events.metres:
        changes[tick] = (beats, unit)
    starts = [(Fraction(tick, events.division), metre) for tick, metre in sorted(changes.items())]
    end = max(onset + length for onset, length in places)
    edges: list[tuple[Fraction, Fraction, tuple[int, int]]] = []
    for (start, metre), (stop, _) in pairwise([*starts, (end, (4, 4))]):
        full = Fraction(4 * metre[0], metre[1])
        if full <= 0 or full > limits.bar_quarters:
            raise SketchError(f"has bars of {full} quarters; {limits.bar_quarters} are the most", file)
        at = start
        last = (start, metre) == starts[-1]
        while at < stop or not edges:
            edges.append((at, full if last else min(full, stop - at), metre))
            at += full
            if len(edges) > limits.bars:
                raise SketchError(f"has more than {limits.bars:,} bars; give the cue alone", file)
    ticks = 1
    for value in (*(v for place in places for v in place), *(v for edge in edges for v in edge[:2])):
        ticks = lcm(ticks, value.denominator)
    keys = {Fraction(tick, events.division): _signature(name) for tick, name in events.keys}
    bars = []
    for index, (at, length, metre) in enumerate(edges):
        fifths, mode = next((keys[k] for k in sorted(keys, reverse=True) if k <= at), (0, ""))
        bars.append(Bar(index, str(index + 1), int(at * ticks), int(length * ticks), metre, fifths, mode))
    return tuple(bars), ticks


def _bar_at(bars: tuple[Bar, ...], tick: int) -> Bar:
    return next((bar for bar in reversed(bars) if bar.onset <= tick), bars[0])


def _with_key(bar: Bar, fifths: int) -> Bar:
    return Bar(bar.index, bar.number, bar.onset, bar.length, bar.metre, fifths)


def _signature(name: str) -> tuple[int, str]:
    """(sharps, mode) of a key name such as "Bb" or "F#m"."""
    minor = name.endswith("m")
    fifths = parse(f"{name.removesuffix('m')}4").fifths
    return (fifths - 3, "minor") if minor else (fifths, "major")


def _fifths(sounds: list[Sound]) -> int:
    """The signature whose scale holds most of the sounding time; the fewest accidentals on ties."""
    weights: Counter[int] = Counter()
    for sound in sounds:
        weights[sound.pitch % 12] += sound.end - sound.start
    return max(range(-5, 7), key=lambda f: (sum(weights[(7 * f + degree) % 12] for degree in MAJOR), -abs(f), f))


class _Clock:
    """Ticks of the file to seconds."""

    def __init__(self, events: Events) -> None:
        self.division = events.division
        self.tempos = sorted({0: 500_000, **dict(events.tempos)}.items())

    def __call__(self, tick: int) -> float:
        seconds = 0.0
        for (start, tempo), (stop, _) in pairwise([*self.tempos, (tick, 0)]):
            if start < tick:
                seconds += (min(tick, max(start, stop)) - start) * tempo / (1e6 * self.division)
        return seconds


def _marks(events: Events, ticks: int, staves: list[int], end: int) -> tuple[Mark, ...]:
    def at(tick: int) -> int:
        return min(end, round(Fraction(tick * ticks, events.division)))

    marks = [Mark("tempo", at(tick), at(tick), -1, f"{round(60e6 / tempo, 3):g}") for tick, tempo in events.tempos]
    marks += [Mark(kind, at(tick), at(tick), -1, text) for tick, kind, text in events.texts if text]
    marks += [Mark("pedal", at(a), at(b), staves.index(s), "") for a, b, s in events.pedals if s in staves]
    return tuple(sorted(marks, key=lambda mark: (mark.onset, mark.kind, mark.value)))


def _notices(events: Events, loose: bool, asked: bool | None, known: bool, fifths: int) -> tuple[str, ...]:
    found = []
    if asked is None:
        how = (
            "played in: attacks moved to the nearest sixteenth or triplet"
            if loose
            else "from notation: no attack moved"
        )
        found.append(f"the MIDI file is taken as {how}")
    if not known:
        found.append(f"no key in the MIDI file: spelled with {abs(fifths)} {'flats' if fifths < 0 else 'sharps'}")
    if events.mended:
        found.append(f"{events.mended} notes without a proper end were closed")
    return tuple(found)
