"""Held harmony in complete sets: for each group that could hold the chords, the smoothest row of voicings in its region.

The row is found by a dynamic program over the voicings of each chord (states: rising sets of pitches), of which the cheapest few
are kept from chord to chord.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from operator import sub
from typing import Any

from autoorch.layers.breath import breathed, easy_breath
from autoorch.layers.colours import group_of
from autoorch.layers.cue import Cue
from autoorch.layers.model import FULL, MaterialLine, MaterialNote, MaterialStrand, PhrasePlan
from autoorch.layers.techniques import DETACHED
from autoorch.roles.model import Chord
from autoorch.sketch.model import SketchNote

_Voicing = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Beside:
    """What sounds beside a chord's voicing.

    Attributes:
        had: pitch classes of notes that resolve and that another part has: no other doubles them.
        tune: pitch (MIDI) that the voicing stays under; None where the tune lies below the set's region, or rests.
    """

    had: Collection[int] = ()
    tune: float | None = None


ALONE = Beside()
VOICES = ("inner", "counterline", "pedal", "bass")
"""Roles whose lines are real parts, besides the tune."""
Steps = Collection[tuple[int, int]]
"""(pitch class before, pitch class after) of each real part from one chord to the next."""


def held_chords(cue: Cue) -> tuple[MaterialStrand, ...]:
    """One strand a group of constraints/voicing.toml that the line-up has players for; its lines sound as a set. What resolves
    is led alike in all of them, as octave copies of the same real parts."""
    table = cue.tables.rule("voicing")
    real = _Real(cue)
    found = []
    for number, row in enumerate(table["set"], 1):
        seats = sum(1 for p in cue.lineup.players if p.instrument.id in row["players"])
        if seats < row["lines"]:
            continue
        groups = {group_of(cue.tables.instruments[name]) for name in row["players"]}
        parts = [part for phrase in cue.plan if not dry(cue, phrase) for part in phrase.parts]
        parts = [
            (a, b, p) for a, b, p in parts if p.dynamic in row["dynamics"] and (not p.lead or groups <= set(p.ground))
        ]
        rows: list[tuple[Chord, int, int, _Voicing]] = []
        for begun, last, _ in parts:
            spans = real.spans(begun, last)
            beside = real.beside(spans, row["low"], row["high"])
            low = row["low"] - (row["deeper"] if any(b.tune is not None for b in beside) else 0)
            chords, steps = [c for c, _, _ in spans], real.steps(begun, last)
            voicings = lead(table["weights"], chords, row["lines"], low, row["high"], beside, steps)
            rows += [(c, start, end, voicing) for (c, start, end), voicing in zip(spans, voicings, strict=True)]
        if rows:
            found.append(_strand(cue, f"pad{number}", row, rows, {start for p in cue.plan for start, _, _ in p.parts}))
    return tuple(found)


class _Real:
    """The real parts of the harmony, stretch by stretch of the plan: what the sketch's own voices have of it, and how the parts
    between them lead."""

    def __init__(self, cue: Cue) -> None:
        self.cue, self.table = cue, cue.tables.rule("voicing")
        self.chords = [chord for chord in steadied(cue, merged(cue.reading.chords)) if chord.members]
        own = [line for strand in cue.reading.strands if strand.role in VOICES for line in strand.lines]
        self.voices = [cue.sketch.by_id[note] for line in own for note in line.notes]
        self._steps: dict[tuple[int, int], list[Steps]] = {}

    def spans(self, begun: int, last: int) -> list[tuple[Chord, int, int]]:
        """The held chords of a stretch, each with its start and end there."""
        first = _first_chord(self.cue, begun) if begun == self.cue.plan_at(begun).start else begun
        chords = [c for c in self.chords if c.start < last and c.end > first]
        return [(c, max(c.start, first), min(c.end, last)) for c in chords]

    def beside(self, spans: Sequence[tuple[Chord, int, int]], low: int, high: int) -> list[Beside]:
        """What sounds beside each chord of a set from `low` to `high`."""
        found = []
        for chord, start, end in spans:
            had = resolving(chord, start, end, self.voices, self.cue.tune, self.table["had"])
            if self.cue.plan_at(start).at(start).scheme == FULL:
                had -= {chord.third}
            found.append(Beside(had, over_the_set(self.cue, low, high, start, end)))
        return found

    def steps(self, begun: int, last: int) -> list[Steps]:
        """From each chord of a stretch to the next, how the real parts move."""
        if (begun, last) not in self._steps:
            row, spans = self.table["real"], self.spans(begun, last)
            chords, beside = [c for c, _, _ in spans], self.beside(spans, row["low"], row["high"])
            led = lead(self.table["weights"], chords, row["lines"], row["low"], row["high"], beside)
            self._steps[begun, last] = [
                {(a % 12, b % 12) for a, b in zip(v, w, strict=False)} for v, w in pairwise(led)
            ]
        return self._steps[begun, last]


def resolving(
    chord: Chord, start: int, end: int, voices: Sequence[SketchNote], tune: Sequence[SketchNote], share: float
) -> set[int]:
    """Notes of the chord that resolve and that one of the sketch's voices has in [start, end), or its tune for at least a share
    of that time: no other part doubles them."""
    lasts: dict[int, int] = defaultdict(int)
    for note in tune:
        lasts[note.pitch.midi % 12] += max(0, min(note.end, end) - max(note.onset, start))
    sounding = {note.pitch.midi % 12 for note in voices if note.onset < end and note.end > start}
    sounding |= {degree for degree, ticks in lasts.items() if ticks >= share * (end - start)}
    return sounding & set(chord.tendency)


def over_the_set(cue: Cue, low: int, high: int, start: int, end: int) -> float | None:
    """How high the tune lies, on average, over what a set from `low` to `high` holds in [start, end): what is held lies under the
    tune (of notes held for a beat and more besides the tune's own, 8 and 1 in 100 lie above its highest octave in the tuttis of
    two symphonic movements of the OpenScore Orchestra corpus, Beethoven op. 92 ii and Brahms op. 90 iii). None where the tune
    rests, or lies below the set altogether, as a cello's may under wind chords."""
    own = [note for note in cue.tune if note.onset < end and note.end > start]
    if not own:
        return None
    lasts = [min(note.end, end) - max(note.onset, start) for note in own]
    mean = sum(note.pitch.midi * last for note, last in zip(own, lasts, strict=True)) / sum(lasts)
    if cue.plan_at(start).at(start).octaves > 1 and mean < (low + high) / 2:
        mean += 12
    return mean if mean >= low else None


def dry(cue: Cue, phrase: PhrasePlan) -> bool:
    """Nearly all of a phrase's notes are detached, or most of those of a lively one: what is held under them would take that from
    them."""
    table = cue.tables.rule("voicing")["dry"]
    notes = [note for note in cue.sketch.notes if phrase.start <= note.onset < phrase.end]
    detached = sum(any(mark in DETACHED for mark in note.marks) for note in notes)
    lively = cue.reading.phrases[cue.phrase_at(phrase.start)].character in table["characters"]
    return bool(notes) and detached >= table["lively" if lively else "detached"] * len(notes)


def _first_chord(cue: Cue, start: int) -> int:
    """Where a phrase that begins at `start` has its first held chord: on the bar line after an upbeat."""
    bar, bars = cue.sketch.bar_at(start), cue.sketch.bars
    whole = bars[min(bar.index + 1, len(bars) - 1)].length
    upbeat = start > bar.onset or (bar.index == 0 and bar.length < whole)
    return bar.end if upbeat and 2 * (bar.end - start) <= whole else start


def merged(chords: Sequence[Chord]) -> list[Chord]:
    """Neighbouring chords with the same members as one."""
    found: list[Chord] = []
    for chord in chords:
        last = found[-1] if found else None
        if last is not None and last.end == chord.start and set(last.members) == set(chord.members) and last.members:
            found[-1] = replace(last, end=chord.end)
        else:
            found.append(chord)
    return found


def steadied(cue: Cue, chords: Sequence[Chord]) -> list[Chord]:
    """The chords as held ones change: on beats, or with the bass. A chord that its bass has struck less than a beat before it is
    complete begins there; what the upper voices have sooner between two beats, as passing notes and anticipations do, waits for
    the beat; a chord that is over by then is none."""
    struck = {note.onset: note.pitch.midi % 12 for note in cue.bass}
    found: list[Chord] = []
    for chord in chords:
        before = found[-1] if found else None
        if before is None or before.end != chord.start or chord.start in struck or cue.on_beat(chord.start):
            found.append(chord)
            continue
        bar, beat = cue.sketch.bar_at(chord.start), max(1, cue.beats(chord.start, 1))
        last = chord.start - (chord.start - bar.onset) % beat
        own = [tick for tick in range(max(last, before.start), chord.start) if struck.get(tick) == chord.bass]
        start = own[-1] if own else min(bar.end, last + beat)
        found[-1] = replace(before, end=min(start, chord.end))
        if found[-1].end == found[-1].start:
            found.pop()
        if start < chord.end:
            found.append(replace(chord, start=start))
    return merged(found)


def voicings(chord: Chord, lines: int, low: int, high: int) -> list[_Voicing]:
    """All rising sets of `lines` chord members between low and high."""
    pitches = [m for m in range(low, high + 1) if m % 12 in chord.members]
    return list(combinations(pitches, lines)) or [tuple(pitches[:lines])]


def own_cost(
    weights: Mapping[str, Any], chord: Chord, voicing: _Voicing, low: int, high: int, beside: Beside = ALONE
) -> int:
    """Price of one voicing by itself over the chord's bass and under the tune: members, doublings, gaps, place. A third or
    tendency note that the bass or another part has is doubled by the voicing, which may leave it out."""
    degrees = [m % 12 for m in voicing]
    elsewhere = {chord.bass, *beside.had}
    whole = [*degrees, *elsewhere]
    cost = 0
    if chord.third is not None:
        count = whole.count(chord.third)
        cost += weights["no_third"] if count == 0 else weights["doubled_third"] * (count - 1)
    for degree in chord.tendency:
        cost += weights["doubled_tendency"] * max(0, whole.count(degree) - 1)
    needed = set(chord.members) - elsewhere.intersection((chord.third, *chord.tendency))
    cost += weights["incomplete"] * max(0, min(len(voicing), len(needed)) - len(needed & set(degrees)))
    cost += sum(weights["gap"] * max(0, b - a - weights["close"]) for a, b in pairwise(voicing))
    if beside.tune is not None and voicing:
        cost += weights["over_tune"] * max(0, int(voicing[-1] - beside.tune))
    centre = sum(voicing) / max(1, len(voicing))
    return int(cost + weights["off_centre"] * abs(centre - (low + high) / 2) // 2)


def lead(
    weights: Mapping[str, Any],
    chords: Sequence[Chord],
    lines: int,
    low: int,
    high: int,
    beside: Sequence[Beside] = (),
    steps: Sequence[Steps] = (),
) -> list[_Voicing]:
    """The cheapest row of voicings, one a chord: own costs, the semitones that the lines move, and notes that resolve otherwise
    than in the real parts.

    Args:
        beside: chord by chord, see `own_cost`.
        steps: from each chord to the next, how real parts move that this row doubles; () where it is the only one.
    """
    if not chords:
        return []
    layers: list[dict[_Voicing, tuple[int, _Voicing | None]]] = []
    for number, chord in enumerate(chords):
        layer: dict[_Voicing, tuple[int, _Voicing | None]] = {}
        for voicing in voicings(chord, lines, low, high):
            own = own_cost(weights, chord, voicing, low, high, beside[number] if beside else ALONE)
            if number == 0:
                layer[voicing] = own, None
                continue
            best: tuple[int, _Voicing] | None = None
            for before, (cost, _) in layers[-1].items():
                if best is not None and cost > best[0]:
                    break
                moved = cost + weights["move"] * sum(map(abs, map(sub, before, voicing)))
                if steps and (best is None or moved <= best[0]):
                    moved += weights["unlike"] * _unlike(chords[number - 1], before, chord, voicing, steps[number - 1])
                if best is None or (moved, before) < best:
                    best = moved, before
            assert best is not None
            layer[voicing] = best[0] + own, best[1]
        keep = sorted(layer.items(), key=lambda item: (item[1][0], item[0]))[: weights["kept"]]
        layers.append(dict(keep))
    at: _Voicing | None = min(layers[-1], key=lambda v: (layers[-1][v][0], v))
    row: list[_Voicing] = []
    for layer in reversed(layers):
        assert at is not None
        row.append(at)
        at = layer[at][1]
    return row[::-1]


def _unlike(first: Chord, before: _Voicing, second: Chord, after: _Voicing, steps: Steps) -> int:
    """Notes that resolve which a row of voicings reaches or leaves otherwise than the real parts do."""
    moves = ((a % 12, b % 12) for a, b in zip(before, after, strict=False))
    return sum((a in first.tendency or b in second.tendency) and (a, b) not in steps for a, b in moves)


def _strand(
    cue: Cue,
    name: str,
    row: Mapping[str, Any],
    rows: Sequence[tuple[Chord, int, int, _Voicing]],
    joints: Collection[int],
) -> MaterialStrand:
    """A set of lines from a row of voicings; common tones are held, but never over a phrase joint."""
    lines: list[list[MaterialNote]] = [[] for _ in range(row["lines"])]
    for _, start, end, voicing in rows:
        for number, pitch in enumerate(reversed(voicing)):
            line = lines[number]
            if line and line[-1].pitch.midi == pitch and line[-1].end == start and start not in joints:
                last = line.pop()
                line.append(MaterialNote(last.id, last.onset, end - last.onset, last.pitch))
            else:
                name_of = f"{name}.{number + 1}.{len(line) + 1}"
                line.append(MaterialNote(name_of, start, end - start, cue.spelled(pitch, start)))
    easy = easy_breath(cue, row["players"])
    if easy is not None:
        lines = breathed(cue, [line for line in lines if line], joints, easy)
    return MaterialStrand(
        name,
        "inner",
        "harmony",
        tuple(MaterialLine(f"{name}.{k + 1}", tuple(notes)) for k, notes in enumerate(lines) if notes),
        texture="held chords",
        families=tuple(row["players"]),
        complete=True,
        reason=f"held chords for {row['id']}",
    )
