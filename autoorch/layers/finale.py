"""The last chord voiced afresh: where a cue ends on one held chord, its inner notes are laid out between the bass and the highest
note as an orchestra has them, instead of as two hands reach them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations, pairwise
from typing import Any

from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand
from autoorch.roles.model import Chord

TEXTURE = "last chord"


def revoiced(cue: Cue, strands: Sequence[MaterialStrand]) -> tuple[MaterialStrand, ...]:
    """The strands with the inner notes of the last chord in a strand of their own, each note of the sketch in one of its lines.

    The lowest note stays with the bass and the highest with the tune, where they have them. As it is where the chord is short
    or broken, has graces, or is no chord of thirds, and for few players.
    """
    table = cue.tables.rule("finish")["finale"]
    tick = max((n.onset for n in cue.sketch.notes), default=0)
    chord = cue.chord_at(tick)
    struck = [(strand, note) for strand in strands for note in _at(strand, tick)]
    few = len(cue.lineup.players) <= cue.tables.rule("texture")["small"]
    if chord is None or few or len(struck) < table["least"] or any(not note.duration for _, note in struck):
        return tuple(strands)
    if cue.seconds(tick, min(note.end for _, note in struck)) < table["least_s"] and not _held(struck):
        return tuple(strands)
    low, high = (edge(note.pitch.midi for _, note in struck) for edge in (min, max))
    kept = {s.id for s, n in struck if (s.role, n.pitch.midi) in (("melody", high), ("bass", low))}
    inner = sorted((n for s, n in struck if s.id not in kept), key=lambda n: (-n.pitch.midi, n.id))
    inner = [n for k, n in enumerate(inner) if n.id not in {m.id for m in inner[:k]}]
    voices = max(table["voices"][cue.dynamic_at(tick)], len({n.pitch.midi for n in inner}))
    edges = [m for m in (low, high) if any(n.pitch.midi == m for n in inner)]
    floor = low + 1 if low in edges else low + table["above_bass"]
    free = [m for m in range(floor, high) if m % 12 in chord.members]
    pitches = _voicing(table, chord, [n.pitch.midi % 12 for n in inner], free, edges, voices, (low, high))
    if not inner or not pitches:
        return tuple(strands)
    left = [s if s.id in kept else _without(s, tick) for s in strands]
    return (*(s for s in left if s.lines), *_strands(cue, tick, inner, pitches))


def closing(cue: Cue, strands: Sequence[MaterialStrand]) -> set[int]:
    """Ticks at which a last chord of ours begins: all strands are cut there, so that players can leave what they have for it."""
    ours = {TEXTURE, *(touch["id"] for touch in cue.tables.rule("finish")["touch"] if touch["shape"] == "close")}
    return {strand.lines[0].notes[0].onset for strand in strands if strand.texture in ours}


def _at(strand: MaterialStrand, tick: int) -> list[MaterialNote]:
    return [n for line in strand.lines if not line.reduced for n in line.notes if n.onset == tick]


def _held(struck: Sequence[tuple[MaterialStrand, MaterialNote]]) -> bool:
    return any("fermata" in note.marks for _, note in struck)


def _without(strand: MaterialStrand, tick: int) -> MaterialStrand:
    lines = (replace(line, notes=tuple(n for n in line.notes if n.onset < tick)) for line in strand.lines)
    return replace(strand, lines=tuple(line for line in lines if line.notes))


def _voicing(
    table: Mapping[str, Any],
    chord: Chord,
    needed: Sequence[int],
    free: Sequence[int],
    fixed: Sequence[int],
    voices: int,
    edges: tuple[int, int],
) -> tuple[int, ...]:
    """The cheapest `voices` pitches or the next smaller number, rising, with every pitch class that is needed; () for none.

    Args:
        free: pitches to choose from; fixed: those that belong to it besides.
        edges: lowest and highest pitch of the whole chord.
    """
    classes = set(needed)
    for count in range(min(voices - len(fixed), len(free)), -1, -1):
        ways = [tuple(sorted((*own, *fixed))) for own in combinations(free, count)]
        ways = [way for way in ways if classes <= {m % 12 for m in way}]
        if ways:
            return min(ways, key=lambda way: (_cost(table, chord, way, edges), way))
    return ()


def _cost(table: Mapping[str, Any], chord: Chord, way: Sequence[int], edges: tuple[int, int]) -> int:
    """Gaps wider than the place allows (wide at the bottom, close on top), thirds and tendency notes that come too often."""
    whole = sorted({edges[0], *way, edges[1]})
    cost = 0
    for below, above in pairwise(whole):
        widest = next(row["gap"] for row in table["spacing"] if below < row["below"])
        least = next(row["least"] for row in table["spacing"] if below < row["below"])
        cost += table["wide"] * max(0, above - below - widest) + table["narrow"] * max(0, least - (above - below))
    counts: dict[int, int] = defaultdict(int)
    for midi in whole:
        counts[midi % 12] += 1
    few = {chord.third, *chord.tendency}
    return cost + sum(int(table["doubled"]) * (count - 1) for degree, count in counts.items() if degree in few)


def _strands(cue: Cue, tick: int, inner: Sequence[MaterialNote], pitches: Sequence[int]) -> Iterator[MaterialStrand]:
    """A line a pitch, highest first: those that carry the sketch's notes, each the ones of its name that lie nearest to it, then
    what is added between them."""
    carried: dict[int, list[MaterialNote]] = defaultdict(list)
    for note in inner:
        alike = [m for m in pitches if m % 12 == note.pitch.midi % 12]
        carried[min(alike, key=lambda m: (abs(m - note.pitch.midi), m))].append(note)
    end = max(note.end for note in inner)
    marks = tuple(sorted({mark for note in inner for mark in note.marks}))

    def named(strand: str, notes: Sequence[MaterialNote]) -> tuple[MaterialLine, ...]:
        lines = ((f"{strand}.{k}", replace(note, duration=end - tick, marks=marks)) for k, note in enumerate(notes, 1))
        return tuple(MaterialLine(name, (replace(n, id=n.id or f"{name}.1"),)) for name, n in lines)

    own, between = [], []
    for midi in sorted(pitches, reverse=True):
        notes = sorted(carried[midi], key=lambda n: (n.pitch.midi != midi, n.id))
        if not notes:
            between.append(MaterialNote("", tick, 0, cue.spelled(midi, tick)))
        elif len(notes) == 1 and notes[0].pitch.midi == midi:
            own.append(notes[0])
        else:
            sources = tuple(dict.fromkeys(source for n in notes for source in n.sources))
            own.append(MaterialNote("", tick, 0, notes[0].pitch.shifted((midi - notes[0].pitch.midi) // 12), sources))
    yield MaterialStrand("last1", "inner", "assigned", named("last1", own), texture=TEXTURE)
    if between:
        reason = f"the last chord voiced afresh in {cue.place(tick)}: what lies between the sketch's notes"
        lines = named("last2", between)
        yield MaterialStrand("last2", "inner", "finish", lines, TEXTURE, complete=True, reason=reason)
