"""Piano figures written again for the hands that get them: broken octaves become octaves, what registers split in pieces becomes
lines that go right through, a broken chord gets its first note back and its bass is held under it."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby, pairwise
from statistics import median_low
from typing import Any

from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand
from autoorch.layers.techniques import DETACHED
from autoorch.roles.patterns import BROKEN
from autoorch.sketch.model import SketchNote

OCTAVE = 12


def refigured(cue: Cue, strands: Sequence[MaterialStrand]) -> tuple[MaterialStrand, ...]:
    """The strands as others than a pianist would have them, phrase by phrase; each note of the sketch keeps a line.

    Figures and off-beats: the first line has the top of each attack, the next one what is under it, so that no figure goes
    from line to line. A broken chord over a bass that has its first note takes that note too, and the bass is held while the
    figure moves on. Broken octaves get two lines more, the lower notes and the upper ones, each held for both.
    """
    table = cue.tables.rule("patterns")["instead"]
    due = basses(cue)
    found = [_ranked(cue, s, table, due) if s.role in ("figure", "rhythm") else s for s in strands]
    broken = [s for s in found if s.role == "figure" and s.texture in BROKEN]
    moving = sorted({tick for s in found for tick in _moving(cue, s, s in broken, table["least"])})
    bass = sorted((n for s in found if s.role == "bass" for n in s.lines[0].notes), key=lambda n: n.onset)
    found = [_completed(cue, s, bass, table) if s in broken else s for s in found]
    found = [_held(cue, s, moving) if s.role == "bass" else s for s in found]
    return tuple(_with_octaves(cue, s, table["octaves"]) if s.role in ("bass", "figure") else s for s in found)


def _inside(notes: Sequence[MaterialNote], start: int, end: int) -> list[MaterialNote]:
    return [note for note in notes if start <= note.onset < end]


def _by_attack(notes: Sequence[MaterialNote]) -> dict[int, list[MaterialNote]]:
    """Attack -> its notes, highest first, in time order."""
    found: dict[int, list[MaterialNote]] = defaultdict(list)
    for note in sorted(notes, key=lambda n: (n.onset, -n.pitch.midi, n.id)):
        found[note.onset].append(note)
    return dict(found)


def basses(cue: Cue) -> dict[str, int]:
    """Id of each note that is the lowest of the sketch where a chord begins -> the last such tick."""
    starts = [chord.start for chord in cue.reading.chords]
    lowest: dict[int, SketchNote] = {}
    for note in cue.sketch.notes:
        for start in starts[bisect_left(starts, note.onset) : bisect_left(starts, note.end)]:
            if start not in lowest or note.pitch.midi < lowest[start].pitch.midi:
                lowest[start] = note
    return {note.id: start for start, note in sorted(lowest.items())}


def _ranked(cue: Cue, strand: MaterialStrand, table: Mapping[str, Any], due: Mapping[str, int]) -> MaterialStrand:
    """The strand's lines by rank in each attack, in the phrases in which that cuts little short and somebody reaches it all;
    a line that stands for several is for few players only, and for phrases that have several."""
    own = [line for line in strand.lines if not line.reduced]
    if len(own) < 2:
        return strand
    lines: list[list[MaterialNote]] = [[] for _ in own]
    single: list[tuple[int, int]] = []
    few = len(cue.lineup.players) <= cue.tables.rule("texture")["small"]
    for plan in cue.plan:
        pieces = [_inside(line.notes, plan.start, plan.end) for line in own]
        several = sum(map(bool, pieces)) > 1
        ranks = by_rank([n for piece in pieces for n in piece], table, due, len(own)) if several else None
        now = ranks or pieces
        if ranks and strand.role == "rhythm" and not few:
            now = [_filled(line, ranks, table["thin"]) for line in ranks]
        for line, notes in zip(lines, now, strict=False):
            line += notes
        if sum(map(bool, now)) == 1:
            single.append((plan.start, plan.end))
    kept = [
        replace(line, notes=tuple(n for n in line.notes if not any(a <= n.onset < b for a, b in single)))
        for line in strand.lines
        if line.reduced and few
    ]
    whole = [replace(line, notes=tuple(notes)) for line, notes in zip(own, lines, strict=True)]
    return replace(strand, lines=tuple(line for line in (*whole, *kept) if line.notes))


def by_rank(
    notes: Sequence[MaterialNote], table: Mapping[str, Any], due: Mapping[str, int], most: int
) -> list[list[MaterialNote]] | None:
    """The notes of one phrase in at most `most` lines by rank, highest first, each note ending where the next of its line
    begins: all together, or what is held and what moves each by itself, whichever cuts less short. None where there are grace
    notes, too much would be cut, a note would not last to the tick at which it is `due`, or a line goes too wide."""
    if any(not note.duration for note in notes):
        return None
    attacks = sorted({note.onset for note in notes})
    step = median_low([b - a for a, b in pairwise(attacks)]) if len(attacks) > 1 else notes[0].duration
    moving = [note for note in notes if note.duration < table["held"] * step]
    held = [note for note in notes if note.duration >= table["held"] * step]
    sounding = sum(n.duration for n in notes)
    found: list[tuple[int, list[list[MaterialNote]]]] = []
    for parts in ((notes,), (held, moving)):
        lines = [line for part in parts if part for line in _ranks(part)]
        lost = sounding - sum(n.duration for line in lines for n in line)
        if (
            len(lines) <= most
            and lost <= table["cut"] * sounding
            and all(n.end > due.get(source, -1) for line in lines for n in line for source in n.sources)
            and all(_width(line) <= table["widest"] for line in lines)
        ):
            found.append((lost, lines))
    if not found:
        return None
    _, lines = min(found, key=lambda entry: entry[0])
    return sorted(lines, key=lambda line: -sum(n.pitch.midi for n in line) / len(line))


def _filled(line: Sequence[MaterialNote], lines: Sequence[Sequence[MaterialNote]], thin: float) -> list[MaterialNote]:
    """A line that only the fullest of the chords have, with what its neighbour has at the others, so that nobody is called for a
    stroke here and there; one stroke alone stays one."""
    fullest = max(map(len, lines))
    if not 1 < len(line) < thin * fullest:
        return list(line)

    at = {note.onset: note.pitch.midi for note in line}

    def apart(other: Sequence[MaterialNote]) -> float:
        steps = [abs(at[n.onset] - n.pitch.midi) for n in other if n.onset in at]
        return sum(steps) / len(steps) if steps else math.inf

    near = min((other for other in lines if len(other) >= thin * fullest), key=apart)
    more = [n for n in near if not any(n.onset < own.end and own.onset < n.end for own in line)]
    return sorted((*line, *(replace(n, id=f"{n.id}.too") for n in more)), key=lambda n: n.onset)


def _ranks(notes: Sequence[MaterialNote]) -> list[list[MaterialNote]]:
    attacks = list(_by_attack(notes).values())
    lines = [[group[k] for group in attacks if k < len(group)] for k in range(max(map(len, attacks)))]
    return [[_until(a, b.onset) for a, b in pairwise(line)] + line[-1:] for line in lines]


def _width(notes: Sequence[MaterialNote]) -> int:
    return max(n.pitch.midi for n in notes) - min(n.pitch.midi for n in notes)


def _until(note: MaterialNote, tick: int) -> MaterialNote:
    return note if note.end <= tick else replace(note, id=f"{note.id}.cut", duration=tick - note.onset)


def _completed(
    cue: Cue, strand: MaterialStrand, bass: Sequence[MaterialNote], table: Mapping[str, Any]
) -> MaterialStrand:
    """The moving line of each phrase with the bass notes that begin the figure's groups."""
    added: dict[int, list[MaterialNote]] = defaultdict(list)
    own = [k for k, line in enumerate(strand.lines) if not line.reduced]
    for plan in cue.plan:
        pieces = {k: _inside(strand.lines[k].notes, plan.start, plan.end) for k in own}
        moving = max(own, key=lambda k: len(pieces[k]))
        if len(pieces[moving]) >= table["least"]:
            added[moving] += beginnings(pieces[moving], _inside(bass, plan.start, plan.end), table)
    lines = list(strand.lines)
    for k, more in added.items():
        notes = sorted((*lines[k].notes, *more), key=lambda n: n.onset)
        lines[k] = replace(lines[k], notes=(*(_until(a, b.onset) for a, b in pairwise(notes)), notes[-1]))
    return replace(strand, lines=tuple(lines))


def beginnings(
    figure: Sequence[MaterialNote], bass: Sequence[MaterialNote], table: Mapping[str, Any]
) -> list[MaterialNote]:
    """Bass notes after which a figure goes on at its own pace, near enough below it to belong to its hand."""
    step, onsets = median_low([b.onset - a.onset for a, b in pairwise(figure)]), [n.onset for n in figure]
    low, high = min(n.pitch.midi for n in figure), max(n.pitch.midi for n in figure)
    floor = max(table["lowest"], low - OCTAVE, high - table["widest"])
    follows = {onset - step for onset in onsets} - set(onsets)
    return [
        replace(note, id=f"{note.id}.first")
        for note in bass
        if note.onset in follows and 0 < note.duration <= step and floor <= note.pitch.midi <= low
    ]


def _moving(cue: Cue, strand: MaterialStrand, broken: bool, least: int) -> Iterator[int]:
    """Attacks of broken chords: all of a figure that is one, and of off-beats those of the bars in which a line goes from note
    to note instead of repeating a chord."""
    if broken:
        yield from (note.onset for line in strand.lines for note in line.notes)
    elif strand.role == "rhythm":
        for line in strand.lines:
            for _, group in groupby(line.notes, key=lambda n: cue.sketch.bar_at(n.onset).index):
                notes = list(group)
                if len(notes) >= least and all(a.end == b.onset and a.pitch != b.pitch for a, b in pairwise(notes)):
                    yield from (note.onset for note in notes)


def _held(cue: Cue, strand: MaterialStrand, figure: Sequence[int]) -> MaterialStrand:
    """The bass with its notes held while a broken chord that they begin goes on: to the next note, the bar, or a chord of a beat
    and more that they do not belong to. Dots and longer notes stay as they are."""
    first, *others = strand.lines
    chords = [c for c in cue.reading.chords if c.end - c.start >= cue.beats(c.start, 1)]
    starts = [chord.start for chord in chords]
    notes: list[MaterialNote] = []
    for note, after in zip(first.notes, (*first.notes[1:], None), strict=True):
        bar, phrase = cue.sketch.bar_at(note.onset), cue.plan_at(note.onset)
        ends = [bar.end, phrase.end, *(after.onset for after in (after,) if after)]
        later = chords[bisect_right(starts, note.onset) : bisect_left(starts, bar.end)]
        ends += [chord.start for chord in later if note.pitch.midi % 12 not in chord.members]
        moving = figure[bisect_right(figure, note.onset) : bisect_left(figure, min(ends))]
        if len(moving) < 2 or not note.duration or note.end > moving[0] or set(note.marks) & set(DETACHED):
            notes.append(note)
        else:
            notes.append(replace(note, id=f"{note.id}.held", duration=min(ends) - note.onset))
    return replace(strand, lines=(replace(first, notes=tuple(notes)), *others))


def _with_octaves(cue: Cue, strand: MaterialStrand, least: int) -> MaterialStrand:
    lower: list[MaterialNote] = []
    upper: list[MaterialNote] = []
    for plan in cue.plan:
        notes = _inside(strand.lines[0].notes, plan.start, plan.end)
        pairs = broken_octaves(notes, least)
        if not pairs:
            continue
        second = {b.id for _, b in pairs}
        first = {a.id: b for a, b in pairs}
        for note in notes:
            if note.id in first:
                low, high = sorted((note, first[note.id]), key=lambda n: n.pitch.midi)
                both = replace(
                    note, duration=first[note.id].end - note.onset, sources=note.sources + first[note.id].sources
                )
                lower.append(replace(both, id=f"{note.id}.low", pitch=low.pitch))
                upper.append(replace(both, id=f"{note.id}.high", pitch=high.pitch))
            elif note.id not in second:
                lower.append(note)
    if not upper:
        return strand
    lines = (
        MaterialLine(f"{strand.id}.low", tuple(lower), reduced=True, instead=True),
        MaterialLine(f"{strand.id}.high", tuple(upper), reduced=True, instead=True),
    )
    return replace(strand, lines=strand.lines + lines)


def broken_octaves(notes: Sequence[MaterialNote], least: int) -> list[tuple[MaterialNote, MaterialNote]]:
    """Pairs of equal notes an octave apart, one after the other, in runs of at least `least` pairs that all go the same way."""
    found: list[tuple[MaterialNote, MaterialNote]] = []
    run: list[tuple[MaterialNote, MaterialNote]] = []
    position = 0
    while position + 1 < len(notes):
        a, b = notes[position], notes[position + 1]
        step = b.pitch.midi - a.pitch.midi
        joined = abs(step) == OCTAVE and a.duration == b.duration > 0 and a.end == b.onset
        if joined and run and (run[-1][1].end != a.onset or step != run[-1][1].pitch.midi - run[-1][0].pitch.midi):
            found += run if len(run) >= least else []
            run = []
        if joined:
            run.append((a, b))
            position += 2
        else:
            found += run if len(run) >= least else []
            run = []
            position += 1
    return found + (run if len(run) >= least else [])
