"""MIDI that was played in, on beats and bars: those of the file's click where the attacks keep to it, found ones otherwise.

Within a beat, attacks go to the coarsest division that they allow: a description length weighs how far they would move
against how many places a division has and how often the take uses it (Cemgil, Desain and Kappen, "Rhythm quantization for
transcription", Computer Music Journal 24, 2000). Seconds as played are kept beside the grid.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import log, log2
from typing import Any

import numpy as np
from numpy.typing import NDArray

from autoorch.errors import SketchError
from autoorch.sketch.midi.evidence import SCHEMA as EVIDENCE_SCHEMA
from autoorch.sketch.midi.evidence import Evidence
from autoorch.sketch.midi.metre import SCHEMA as METRE_SCHEMA
from autoorch.sketch.midi.metre import Grid, Known, find_metre, in_thirds
from autoorch.sketch.midi.pulse import SCHEMA as PULSE_SCHEMA
from autoorch.sketch.midi.pulse import find_pulses
from autoorch.sketch.midi.take import Take

SCHEMA = {
    **PULSE_SCHEMA,
    **EVIDENCE_SCHEMA,
    **METRE_SCHEMA,
    "click": dict.fromkeys(
        ("attacks", "seconds", "longest", "together", "evidence", "late", "away", "astray", "step"), float
    )
    | {"parts": [int]},
    "division": {
        "spread": float,
        "chord": float,
        "early": float,
        "release": float,
        "overlap": float,
        "parts": [int],
        "compound": [int],
        "habit": float,
        "rare": [float],
        "compound_rare": [float],
    },
    "hands": dict.fromkeys(("span", "wide", "middle", "away", "move"), float),
}
Array = NDArray[np.float64]
Span = tuple[Fraction, Fraction, tuple[int, int]]
NOTHING = Known()
COMPOUND = 8
"""Unit of the metres whose beats divide in three."""
FINEST = 24
"""Parts of a quarter on which a key struck again within a step is placed."""


@dataclass(frozen=True)
class Placed:
    """A played take on its grid.

    Attributes:
        notes: (onset, length) in quarters, for each note of the take.
        moved: seconds from each attack as played to its place on `beats`.
        bars: (start, length, metre) in quarters of each bar; None where the file's own hold.
        beats: seconds of each beat, ascending.
        unit: quarters a beat.
        late: quarters by which the whole take came after the file's click, and was moved; None where beats were found.
    """

    notes: list[tuple[Fraction, Fraction]]
    moved: list[float]
    bars: list[Span] | None
    beats: Array
    unit: Fraction
    late: float | None = None

    @property
    def pace(self) -> float:
        """Seconds a quarter, in the middle."""
        return float(np.median(np.diff(self.beats))) / float(self.unit)

    @property
    def paces(self) -> tuple[float, float]:
        """Seconds a quarter, the 5th and the 95th percentile."""
        low, high = np.percentile(np.diff(self.beats), (5, 95)) / float(self.unit)
        return float(low), float(high)

    def at(self, second: float) -> Fraction:
        """Quarters at a second as played, on the 24th parts."""
        here = float(_inside(np.array([second]), self.beats)[0])
        return max(Fraction(0), Fraction(round(here * float(self.unit) * FINEST), FINEST))


def clock(take: Take) -> Callable[[Array], Array]:
    """Ticks to seconds, by the file's own tempos; the first and last go on outside."""
    ticks = np.array([tick for tick, _ in take.tempos], dtype=float)
    paces = np.array([pace for _, pace in take.tempos]) / (1_000_000 * take.quarter)
    passed = np.concatenate(([0.0], np.cumsum(np.diff(ticks) * paces[:-1])))

    def time(at: Array) -> Array:
        index = np.maximum(np.searchsorted(ticks, at, side="right") - 1, 0)
        found: Array = passed[index] + (at - ticks[index]) * paces[index]
        return found

    return time


def heard(take: Take) -> tuple[Array, Array]:
    """Onset and end of each note, in seconds as played."""
    time = clock(take)
    starts = np.array([note.start for note in take.notes], dtype=float)
    ends = np.array([note.end for note in take.notes], dtype=float)
    return time(starts), time(ends)


def place_played(take: Take, table: Mapping[str, Any], known: Known = NOTHING) -> Placed:
    """The take on beats and bars, as `find_beats` has them; what is told of them goes before the file's click."""
    onsets, ends = heard(take)
    keys = np.array([note.key for note in take.notes])
    if not known and keeps_click(take, table["click"]):
        return _ended(_on_click(take, onsets, ends, keys, table))
    grid = find_beats(onsets, ends, keys, table, known)
    triple = in_thirds(_inside(onsets, grid.beats), table["metre"])
    unit = Fraction(3, 2) if triple else Fraction(1)
    places = np.stack((_inside(onsets, grid.beats), _inside(ends, grid.beats)), axis=1)
    bars = _bars(grid, float(places.max()), triple)
    return _ended(_divided(take, onsets, ends, places, grid.beats, unit, bars, table["division"]))


def _ended(placed: Placed) -> Placed:
    """Without bars after the last note."""
    end = max(onset + length for onset, length in placed.notes)
    return replace(placed, bars=[bar for bar in placed.bars if bar[0] < end] if placed.bars else None)


def _on_click(take: Take, onsets: Array, ends: Array, keys: NDArray[np.int64], table: Mapping[str, Any]) -> Placed:
    """The take on its file's click, moved as a whole; bars are found where the click has none or the take none to do with it."""
    late = _late(take, table["click"])
    beats = clock(take)((np.arange(take.end // take.quarter + 3, dtype=float) + late) * take.quarter)
    places = np.array([(note.start / take.quarter, note.end / take.quarter) for note in take.notes]) - late
    bars = None
    single_beats = bool(take.metres) and all(count == 1 for _, count, _ in take.metres)
    if single_beats or abs(late) > table["click"]["astray"]:
        quarters = {**table, "metre": {**table["metre"], "halves": [2]}}
        grid = find_metre(Evidence(beats, (onsets, ends, keys), False, table["evidence"]), quarters)
        kept = _from_first(grid, float(onsets[0]), table["division"]["early"])
        places -= len(beats) - len(kept.beats)
        beats, bars = kept.beats, _bars(kept, float(places.max()), False)
    return replace(_divided(take, onsets, ends, places, beats, Fraction(1), bars, table["division"]), late=late)


def keeps_click(take: Take, table: Mapping[str, Any]) -> bool:
    """Whether attacks gather on parts of the file's quarters (Rayleigh's test of uniformity), or are too few to tell."""
    starts = np.array(sorted({note.start for note in take.notes}), dtype=float)
    onsets, ends = heard(take)
    length = float(ends[-1] - onsets[0])
    if len(starts) < table["attacks"] or not table["seconds"] <= length <= table["longest"]:
        return True
    turns = np.exp(2j * np.pi * np.outer(table["parts"], starts / take.quarter)).mean(axis=1)
    return bool(float(np.abs(turns).max()) > max(table["together"], (table["evidence"] / len(starts)) ** 0.5))


def _late(take: Take, table: Mapping[str, Any]) -> float:
    """Quarters by which the whole take comes after its click (before it: negative): where most attacks meet its parts."""
    if len({note.start for note in take.notes}) < table["attacks"]:
        return 0.0
    starts = np.array([note.start for note in take.notes]) / take.quarter
    count = round(table["late"] / table["step"])
    shifts = np.arange(-count, count + 1) * table["step"]
    shifts = shifts[np.argsort(np.abs(shifts), kind="stable")]
    turns = np.exp(2j * np.pi * np.outer(table["parts"], starts)).mean(axis=1)
    met = (turns[:, None] * np.exp(-2j * np.pi * np.outer(table["parts"], shifts))).real.sum(axis=0)
    met -= table["away"] * np.abs(shifts)
    return float(shifts[met.argmax()])


def find_beats(
    onsets: Array, ends: Array, keys: NDArray[np.int64], table: Mapping[str, Any], known: Known = NOTHING
) -> Grid:
    """Beats and bars: pulses of different tempos, the metre over each of them, the likeliest of all.

    Args:
        onsets, ends: seconds, by onset; keys: MIDI numbers.
        table: constraints/beats.toml.
        known: what is told of them; then each length of a beat is tried, and the likeliest that agrees is taken.

    Raises:
        SketchError: where none agrees; it says what there is.
    """
    pulses = observe(onsets, ends, keys, table)
    found = [find_metre(each, table) for each in pulses] if not known else _agreeing(pulses, onsets, table, known)
    grid = max(found, key=lambda each: each.worth)
    return _from_first(grid, float(onsets[0]), table["division"]["early"])


def _agreeing(pulses: Sequence[Evidence], onsets: Array, table: Mapping[str, Any], known: Known) -> list[Grid]:
    """Beats and bars as told."""
    rules = table["metre"]
    count, unit = known.metre or (0, 0)
    thirds = unit == COMPOUND
    beats = [count // 3 if thirds else count] if count else rules["beats"]
    agreeing, paces = [], set()
    for each in pulses:
        for halves in rules["halves"]:
            grid = find_metre(each, {**table, "metre": {**rules, "halves": [halves], "beats": beats}})
            divides = in_thirds(_inside(onsets, grid.beats), rules)
            if count and divides != thirds:
                continue
            pace = float(60 / np.median(np.diff(grid.beats))) * (1.5 if divides else 1)
            paces.add(round(pace))
            if known.tempo is None or abs(log2(pace / known.tempo)) <= rules["told"]:
                agreeing.append(grid)
    if not agreeing:
        there = f", but at from {min(paces)} to {max(paces)}" if paces and known.tempo else ""
        raise SketchError(f"can't be heard in {known}{there}")
    return agreeing


def observe(onsets: Array, ends: Array, keys: NDArray[np.int64], table: Mapping[str, Any]) -> list[Evidence]:
    """The take over each of its pulses; arguments as of `find_beats`."""
    attacks, found = (onsets, ends, keys), []
    for pulse in find_pulses(onsets, ends, table["pulse"]):
        triple = in_thirds(_inside(onsets, pulse.moments), table["metre"])
        found.append(Evidence(pulse.moments, attacks, triple, table["evidence"], pulse.worth))
    return found


def _from_first(grid: Grid, onset: float, early: float) -> Grid:
    """The grid from the last beat before the first attack (or so little after it)."""
    first = max(0, int(np.searchsorted(grid.beats, onset + early) - 1))
    kept = [(max(0, start - first), min(count, start + count - first)) for start, count in grid.bars]
    return Grid(grid.beats[first:], tuple(each for each in kept if each[1] > 0), grid.worth)


def _inside(moments: Array, beats: Array) -> Array:
    """Seconds as beats from the first one; the first and last tempo go on outside."""
    found = np.interp(moments, beats, np.arange(len(beats)))
    found = np.where(moments > beats[-1], len(beats) - 1 + (moments - beats[-1]) / (beats[-1] - beats[-2]), found)
    return np.asarray(np.where(moments < beats[0], (moments - beats[0]) / (beats[1] - beats[0]), found))


def _bars(grid: Grid, last: float, triple: bool) -> list[Span]:
    unit = Fraction(3, 2) if triple else Fraction(1)
    counts = [count for _, count in grid.bars]
    usual = max(sorted(set(counts)), key=counts.count)
    if len(counts) > 1:
        counts[-1] = max(counts[-1], counts[-2])
    while sum(counts) < last:
        counts.append(usual)
    spans: list[Span] = []
    at = Fraction(0)
    for index, count in enumerate(counts):
        full = counts[1] if index == 0 and len(counts) > 1 and count < counts[1] else count
        spans.append((at, count * unit, (3 * full, 8) if triple else (full, 4)))
        at += count * unit
    return spans


def _divided(
    take: Take,
    onsets: Array,
    ends: Array,
    places: Array,
    beats: Array,
    unit: Fraction,
    bars: list[Span] | None,
    table: Mapping[str, Any],
) -> Placed:
    """Attacks on divisions of their beats; ends on attacks of their strand near them, or on divisions too.

    `onsets` and `ends` are seconds, `places` both in beats.
    """
    early = table["early"]
    parts = table["compound"] if unit != 1 else table["parts"]
    places = np.stack((_together(onsets, places[:, 0], table["chord"]), places[:, 1]), axis=1)
    of = np.floor(places[:, 0] + early / np.interp(places[:, 0], np.arange(len(beats) - 1), np.diff(beats))).astype(int)
    of = np.maximum(of, 0)
    rare = np.array(table["compound_rare" if unit != 1 else "rare"])
    division = _divisions(places[:, 0], of, beats, parts, rare, table)

    def snap(place: float, beat: int, finer: int = 1) -> Fraction:
        count = division.get(beat, parts[1]) * finer
        return max(Fraction(0), Fraction(round(place * count), count))

    struck = [snap(place, int(beat)) for place, beat in zip(places[:, 0], of, strict=True)]
    members = [np.flatnonzero([note.strand == k for note in take.notes]) for k in range(len(take.strands))]
    found: list[tuple[Fraction, Fraction]] = []
    last: dict[tuple[int, int], int] = {}
    for index, note in enumerate(take.notes):
        beat, onset = int(of[index]), struck[index]
        step = Fraction(1, division[beat])
        before = last.get((note.strand, note.key))
        if before is not None and take.notes[before].start < note.start:
            taken, length = found[before]
            if onset <= taken:
                onset = max(taken, Fraction(round(places[index, 0] * FINEST), FINEST))
            if onset > taken:
                found[before] = (taken, min(length, onset - taken))
        last[note.strand, note.key] = index
        others = members[note.strand]
        following = others[np.searchsorted(onsets[others], ends[index] - table["overlap"]) :]
        following = following[onsets[following] <= ends[index] + table["release"]]
        ends_with = next((struck[k] for k in following if struck[k] > onset), None)
        inside = int(places[index, 1])
        end = ends_with or snap(places[index, 1], inside, 2 if division.get(inside) == 1 else 1)
        found.append((onset, max(min(step, Fraction(1, 2)), end - onset)))
    moved = [
        float(np.interp(float(onset), np.arange(len(beats)), beats)) - float(played)
        for (onset, _), played in zip(found, onsets, strict=True)
    ]
    return Placed([(a * unit, b * unit) for a, b in found], moved, bars, beats, unit)


def _together(onsets: Array, places: Array, chord: float) -> Array:
    """The places, those struck within `chord` seconds of the first of them at their mean."""
    found = places.copy()
    first = 0
    for index in range(1, len(onsets) + 1):
        if index == len(onsets) or onsets[index] - onsets[first] > chord:
            found[first:index] = places[first:index].mean()
            first = index
    return found


def _divisions(
    places: Array, of: NDArray[np.int64], beats: Array, parts: tuple[int, ...], rare: Array, table: Mapping[str, Any]
) -> dict[int, int]:
    """Beat -> number of its parts, by the shortest description; a second look knows how often the take uses each."""
    order = np.argsort(of, kind="stable")
    numbers, starts = np.unique(of[order], return_index=True)
    lengths = np.diff(beats)
    costs = []
    for beat, inside in zip(numbers, np.split(places[order], starts[1:]), strict=True):
        length = float(lengths[min(int(beat), len(lengths) - 1)])
        away = [((np.rint(inside * count) / count - inside) * length / table["spread"]) for count in parts]
        costs.append([float((a**2).sum()) / 2 + len(inside) * log(count) for a, count in zip(away, parts, strict=True)])
    prior = np.full(len(parts), -log(len(parts)))
    chosen = np.zeros(len(costs), dtype=int)
    for _ in range(2):
        chosen = (np.array(costs) + rare - prior).argmin(axis=1)
        used = np.bincount(chosen, minlength=len(parts)) + table["habit"]
        prior = np.log(used / used.sum())
    return {int(beat): parts[k] for beat, k in zip(numbers, chosen, strict=True)}
