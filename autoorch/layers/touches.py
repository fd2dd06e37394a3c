"""What one touch is made of: a stroke, a swell, a few notes of the tune, a spread chord, a sweep, a run, a stab, a held or a last
chord. Each is a few lines of notes for one moment; () where the place doesn't allow it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from autoorch.layers.cue import Cue
from autoorch.layers.harmony import lead
from autoorch.layers.model import MaterialNote
from autoorch.pitch import Pitch, parse
from autoorch.roles.model import Chord, Moment
from autoorch.sketch.model import SketchNote

Touch = Mapping[str, Any]
Lines = tuple[tuple[MaterialNote, ...], ...]
MIDDLE = parse("B4")
"""Where a stroke without pitch is written: the middle of the staff."""
TREMOLO = "tremolo-3"
SPREAD = "arpeggiate"
SMALL = "acciaccatura"
_OPEN = 7
"""Semitones above the lowest note of a spread chord that stay free."""
_MAJOR = (0, 2, 4, 5, 7, 9, 11)
_MINOR = (0, 2, 3, 5, 7, 9, 11)
"""The melodic minor scale as it rises."""
_GRIDS = (8, 6, 4, 3, 2)
"""Notes a quarter that a run may have, fastest first."""


def stroke(cue: Cue, touch: Touch, moment: Moment, name: str) -> Lines:
    """One stroke, no longer than its bar."""
    end = min(moment.onset + cue.quarters(touch["quarters"]), cue.sketch.bar_at(moment.onset).end)
    return ((MaterialNote(f"{name}.1", moment.onset, end - moment.onset, MIDDLE),),)


def swell(cue: Cue, touch: Touch, moment: Moment, name: str) -> Lines:
    """A roll that leads to the moment."""
    start = max(0, moment.onset - cue.quarters(touch["quarters"]))
    if start == moment.onset:
        return ()
    grows = cue.swell(moment.onset, touch["steps"])
    return ((MaterialNote(f"{name}.1", start, moment.onset - start, MIDDLE, marks=(TREMOLO,), swell=grows),),)


def chime(cue: Cue, touch: Touch, moment: Moment, name: str) -> Lines:
    """The tune from the moment on for a bar at most, as many octaves up as it takes: a small gesture, or one note where that is
    enough for the moment; it ends before the tune rests or goes on too quickly."""
    end = min(moment.onset + cue.sketch.bar_at(moment.onset).length, cue.plan_at(moment.onset).end)
    found: list[SketchNote] = []
    for note in (n for n in cue.tune if moment.onset <= n.onset < end):
        first = not found and note.onset == moment.onset
        if not first and (not found or found[-1].end != note.onset or len(found) == touch["notes"][1]):
            break
        found.append(note)
    if any(cue.seconds(a.onset, b.onset) * touch["per_s"] < 1 for a, b in pairwise(found)):
        found = found[:1]
    if len(found) < (1 if moment.kind in touch["single"] else touch["notes"][0]):
        return ()
    octaves = max(0, -(-(touch["low"] - min(n.pitch.midi for n in found)) // 12))
    if max(n.pitch.midi for n in found) + 12 * octaves > touch["high"]:
        return ()
    longest = cue.quarters(touch["quarters"])
    return (
        tuple(
            MaterialNote(f"{name}.{k}", note.onset, min(note.duration, longest), note.pitch.shifted(octaves))
            for k, note in enumerate(found, 1)
        ),
    )


def spread(cue: Cue, touch: Touch, moment: Moment, name: str) -> Lines:
    """A chord from its bass upwards, open at the bottom, under the tune."""
    chord = cue.chord_at(moment.onset)
    if chord is None:
        return ()
    above = cue.tune_at(moment.onset)
    top = min(touch["high"], above.pitch.midi) if above else touch["high"]
    pitches = _upwards(chord, touch["low"], top, touch["lines"])
    if len(pitches) < touch["lines"] - 1:
        return ()
    length = min(cue.quarters(touch["quarters"]), chord.end - moment.onset)
    return _chord(name, [cue.spelled(m, moment.onset) for m in pitches], moment.onset, length, (SPREAD,))


def _upwards(chord: Chord, low: int, high: int, count: int) -> list[int]:
    bottom = next((m for m in range(low, high + 1) if m % 12 == chord.bass and m % 12 in chord.members), None)
    if bottom is None:
        return []
    upper = [m for m in range(bottom + _OPEN, high + 1) if m % 12 in chord.members]
    return [bottom, *upper[: count - 1]]


def _chord(name: str, pitches: Sequence[Pitch], onset: int, length: int, marks: tuple[str, ...]) -> Lines:
    """One line a pitch, highest first."""
    high = sorted(pitches, key=lambda p: -p.midi)
    return tuple((MaterialNote(f"{name}.{k}", onset, length, p, marks=marks),) for k, p in enumerate(high, 1))


def scale(key: tuple[int, str], low: int, high: int) -> list[int]:
    """Pitches of the key's rising scale between low and high."""
    steps = _MAJOR if key[1] == "major" else _MINOR
    return [m for m in range(low, high + 1) if (m - key[0]) % 12 in steps]


def _pace(cue: Cue, touch: Touch, moment: Moment, quarters: float) -> float:
    """Notes in the time before the moment that hands have, at most."""
    start = moment.onset - cue.quarters(quarters)
    return float(touch["per_s"]) * cue.seconds(start, moment.onset) if start >= 0 else 0.0


def _rising(cue: Cue, touch: Touch, moment: Moment, target: int, count: int) -> list[Pitch]:
    """The last `count` notes of the key's scale below `target`; [] where there are fewer or nothing says the key."""
    chord = cue.chord_at(moment.onset) or cue.chord_at(max(0, moment.onset - 1))
    pitches = scale(chord.key, touch["low"], target - 1)[-count:] if chord and count >= touch["fewest"] else []
    return [cue.spelled(pitch, moment.onset) for pitch in pitches] if len(pitches) == count else []


def _climb(cue: Cue, touch: Touch, moment: Moment, target: int, quarters: float) -> list[tuple[int, int, Pitch]]:
    """(onset, ticks, pitch) of a scale that ends right before the moment, below `target`; as fast as grid and hands allow."""
    pace = _pace(cue, touch, moment, quarters) / quarters
    grid = next((g for g in _GRIDS if cue.sketch.ticks % g == 0 and g <= pace), None)
    if grid is None:
        return []
    start, step = moment.onset - cue.quarters(quarters), cue.sketch.ticks // grid
    pitches = _rising(cue, touch, moment, target, cue.quarters(quarters) // step)
    return [(start + k * step, step, pitch) for k, pitch in enumerate(pitches)]


def _flourish(cue: Cue, touch: Touch, moment: Moment, target: int, quarters: float, name: str) -> list[MaterialNote]:
    """The same in small notes before the beat, up to a target in the key: they need no place of their own in the bar."""
    count = min(touch["small"], int(_pace(cue, touch, moment, quarters)))
    pitches = _rising(cue, touch, moment, target + 1, count + 1) if count >= touch["fewest"] else []
    if not pitches or pitches[-1].midi != target:
        return []
    return [MaterialNote(f"{name}.{k}", moment.onset, 0, p, grace=SMALL) for k, p in enumerate(pitches[:-1], 1)]


def sweep(cue: Cue, touch: Touch, moment: Moment, name: str) -> Lines:
    """A scale of the key, one pedal setting, up to the tune's note or as high as it goes; in small notes, which then lead to that
    note, where these are more than the grid has room for."""
    note = cue.tune_at(moment.onset)
    target = note.pitch.midi if note else touch["high"]
    while target + 12 <= touch["high"]:
        target += 12
    target = min(target, touch["high"])
    (quarters,) = touch["reach"]
    steps = _climb(cue, touch, moment, target, quarters)
    small = _flourish(cue, touch, moment, target, quarters, name) if note else []
    if note is None or len(small) <= len(steps):
        return (tuple(MaterialNote(f"{name}.{k}", *step) for k, step in enumerate(steps, 1)),) if steps else ()
    pitch, length = cue.spelled(target, moment.onset), cue.beats(moment.onset, 1)
    return ((*small, MaterialNote(f"{name}.{len(small) + 1}", moment.onset, length, pitch)),)


def run(cue: Cue, touch: Touch, moment: Moment, name: str) -> Lines:
    """A scale up to the tune's note, where the tune itself is still, as long as that allows; of a long one the second half is
    another player's, who also lands, but where a phrase begins: who runs up to that has other things to do in it."""
    note = cue.tune_at(moment.onset)
    if note is None or note.onset != moment.onset:
        return ()
    target = note.pitch.midi + (12 if note.pitch.midi + 12 <= touch["high"] else 0)
    landing = (moment.onset, min(note.duration, cue.sketch.ticks), note.pitch.shifted((target - note.pitch.midi) // 12))
    reaches = [quarters for quarters in touch["reach"] if _still(cue, moment.onset, quarters)]
    steps = next((steps for quarters in reaches if (steps := _climb(cue, touch, moment, target, quarters))), [])
    if not steps:
        small = next((s for q in reaches[-1:] if (s := _flourish(cue, touch, moment, target, q, f"{name}.1"))), [])
        return ((*small, MaterialNote(f"{name}.1.{len(small) + 1}", *landing)),) if small else ()
    half, lands = len(steps) // 2, [landing] if cue.phrase_at(steps[0][0]) == cue.phrase_at(moment.onset) else []
    parts = ([*steps[half:], *lands], steps[: half + 1]) if len(steps) >= touch["split"] else ([*steps, *lands],)
    return tuple(
        tuple(MaterialNote(f"{name}.{line}.{k}", *step) for k, step in enumerate(part, 1))
        for line, part in enumerate(parts, 1)
    )


def _still(cue: Cue, tick: int, quarters: float) -> bool:
    """The tune has one note at most in the time before a tick, and no phrase begins there."""
    start = tick - cue.quarters(quarters)
    joined = start >= 0 and cue.phrase_at(start) == cue.phrase_at(tick - 1)
    return joined and sum(1 for n in cue.tune if start < n.onset < tick) <= 1


def stab(cue: Cue, touch: Touch, moment: Moment, name: str) -> Lines:
    """A short chord."""
    chord = cue.chord_at(moment.onset)
    if chord is None:
        return ()
    (voicing,) = lead(cue.tables.rule("voicing")["weights"], [chord], touch["lines"], touch["low"], touch["high"])
    pitches = [cue.spelled(m, moment.onset) for m in voicing]
    return _chord(name, pitches, moment.onset, cue.quarters(touch["quarters"]), tuple(sorted(touch["marks"])))


def held(cue: Cue, touch: Touch, moment: Moment, name: str) -> Lines:
    """The chords held through the moment's phrase, or through the part of it that the plan's turns leave it."""
    parts = ((start, end) for start, end, _ in cue.plan_at(moment.onset).parts)
    start, end = next((a, b) for a, b in parts if moment.onset < b)
    lines = _row(cue, touch, start, end, name)
    return _opened(lines) if touch.get("open", False) else lines


def _opened(lines: Lines) -> Lines:
    """Close chords in open position, as choirs have them: every other line an octave down, highest line first again."""
    low = tuple(tuple(replace(n, pitch=n.pitch.shifted(-1)) for n in line) for line in lines[1::2])
    return (*lines[::2], *low)


def close(cue: Cue, touch: Touch, moment: Moment, name: str) -> Lines:
    """The last chord for as long as it lasts, struck as the tune's last note is; () where one voice moves on under those who
    have it already."""
    here = [n for n in cue.sketch.notes if n.onset == moment.onset and n.duration]
    held = [n for n in cue.sketch.notes if n.onset < moment.onset < n.end]
    if len(held) > len(here):
        return ()
    last = max((n.end for n in here), default=moment.onset)
    struck = sorted({mark for n in here for mark in n.marks if mark in touch["marks"]})
    lines = _row(cue, touch, moment.onset, last, name)
    return tuple(tuple(replace(note, marks=tuple(struck)) for note in line) for line in lines)


def _row(cue: Cue, touch: Touch, start: int, end: int, name: str) -> Lines:
    """The smoothest row of voicings over the chords in [start, end); common tones are held."""
    chords = cue.chords_in(start, end)
    weights = cue.tables.rule("voicing")["weights"]
    row = lead(weights, [chord for chord, _, _ in chords], touch["lines"], touch["low"], touch["high"])
    lines: list[list[MaterialNote]] = [[] for _ in range(touch["lines"])]
    for (_, a, b), voicing in zip(chords, row, strict=True):
        for line, midi in zip(lines, reversed(voicing), strict=False):
            if line and line[-1].pitch.midi == midi and line[-1].end == a:
                a_, pitch = line[-1].onset, line.pop().pitch
            else:
                a_, pitch = a, cue.spelled(midi, a)
            line.append(MaterialNote("", a_, b - a_, pitch))
    return tuple(
        tuple(MaterialNote(f"{name}.{k}.{n}", note.onset, note.duration, note.pitch) for n, note in enumerate(line, 1))
        for k, line in enumerate(lines, 1)
        if line
    )


SHAPES = {
    "stroke": stroke, "swell": swell, "chime": chime, "spread": spread, "sweep": sweep, "run": run, "stab": stab,
    "held": held, "close": close,
}  # fmt: skip
