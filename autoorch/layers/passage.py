"""Who does what in a passage of a score: which parts have the tune, the bass, a counterline, a figure or the harmony."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import log2
from typing import Any

from autoorch.brief import ROLES, STRAND_ROLES
from autoorch.lineup import everyone, resolve
from autoorch.roles import read_roles
from autoorch.shorthand import seat_number
from autoorch.sketch.model import Sketch, SketchNote, Staff
from autoorch.tables import Instrument, Tables

MIDDLE_C = 60
FEATURES = ("steps", "sounding", "height", "rhythm", "attacks", "doubled")
"""What tells a tune: see `features`."""
_OF_STRAND = {strand: role for role, strands in STRAND_ROLES.items() if role != "accents" for strand in strands}


@dataclass(frozen=True, slots=True)
class Part:
    """What one player of a passage does: its instrument, its seat from 1, a role of the brief, its mean sounding pitch."""

    instrument: Instrument
    seat: int
    role: str
    height: float


def parts_of(score: Sketch, start: int, end: int, table: Mapping[str, Any], tables: Tables) -> tuple[Part, ...]:
    """Parts of a score (one staff a player or section) between two ticks, each with the role it has most of the time.

    Args:
        table: constraints/palette.toml: the weight of each feature by which the part with the tune is told, and the share of the
            tune's notes that a part needs to be said to double it.
    """
    tune, shared = table["tune"], table["shared"]
    inside = [note for note in score.notes if start <= note.onset < end and note.duration]
    seats: Counter[str] = Counter()
    found: list[tuple[Instrument, int, list[SketchNote]]] = []
    for staff in score.staves:
        instrument = named(staff.name, tables)
        if instrument is None or instrument.kind == "unpitched":
            continue
        seats[instrument.id] += 1
        own = [note for note in inside if note.staff == staff.index]
        if own:
            found.append((instrument, seats[instrument.id], own))
    if not found:
        return ()
    read = _read(score, inside, start, end, tables)
    told = [Counter(read[_key(note)] for note in own) for _, _, own in found]
    rows = features([own for _, _, own in found], end - start, shared, table["step"])
    able = [k for k, (instrument, _, _) in enumerate(found) if instrument.kind != "timpani"] or [0]
    leader = max(able, key=lambda k: (sum(tune[name] * rows[k][name] for name in FEATURES), -k))
    heights = [sum(note.pitch.midi for note in own) / len(own) for _, _, own in found]
    sets = [_classes(own) for _, _, own in found]
    tunes = {k for k in range(len(found)) if _same(sets[k], sets[leader], shared)}
    below = [k for k in able if k not in tunes and heights[k] < heights[leader]]
    lowest = min(below, key=heights.__getitem__, default=leader)
    made = []
    for k, (instrument, seat, _) in enumerate(found):
        others = {role: count for role, count in told[k].items() if role not in ("melody", "bass")}
        role = max(others, key=lambda role: (others[role], -ROLES.index(role)), default="harmony")
        if k in tunes:
            role = "melody"
        elif _same(sets[k], sets[lowest], shared):
            role = "bass"
        made.append(Part(instrument, seat, role, heights[k]))
    return tuple(made)


def features(parts: Sequence[Sequence[SketchNote]], length: int, shared: float, step: int) -> list[dict[str, float]]:
    """Signs of a tune, each 0 to 1 or a little more, for every part.

    steps: share of its intervals that are no wider than `step` semitones; sounding: share of the time; height: share of the
    parts that lie no higher; rhythm: variety of its note lengths (half the bits); attacks: how many, against the busiest part;
    doubled: a quarter for each part that has the same in some octave, four at most.
    """
    sets = [_classes(own) for own in parts]
    heights = [sum(note.pitch.midi for note in own) / len(own) for own in parts]
    busiest = max(len({note.onset for note in own}) for own in parts)
    found = []
    for own, mine, height in zip(parts, sets, heights, strict=True):
        tops: dict[int, SketchNote] = {}
        for note in own:
            if note.onset not in tops or note.pitch.midi > tops[note.onset].pitch.midi:
                tops[note.onset] = note
        line = [tops[onset] for onset in sorted(tops)]
        moves = [abs(b.pitch.midi - a.pitch.midi) for a, b in pairwise(line)]
        lengths = Counter(note.duration for note in line)
        found.append(
            {
                "steps": sum(0 < move <= step for move in moves) / max(1, len(moves)),
                "sounding": min(1.0, sum(note.duration for note in line) / length),
                "height": sum(other <= height for other in heights) / len(heights),
                "rhythm": -sum(n / len(line) * log2(n / len(line)) for n in lengths.values()) / 2,
                "attacks": len(line) / busiest,
                "doubled": min(4, sum(_same(mine, other, shared) for other in sets) - 1) / 4,
            }
        )
    return found


def _read(
    score: Sketch, inside: Sequence[SketchNote], start: int, end: int, tables: Tables
) -> dict[tuple[int, int, int], str]:
    """(onset, end, pitch class) -> role of the brief in which a sketch of the passage is read."""
    kept = condensed(inside)
    bars = tuple(bar for bar in score.bars if bar.onset < end and bar.end > start)
    first = bars[0].onset
    moved = tuple(replace(bar, index=k, onset=bar.onset - first) for k, bar in enumerate(bars))
    notes = tuple(replace(note, onset=note.onset - first, staff=int(note.pitch.midi < MIDDLE_C)) for note in kept)
    reading = read_roles(Sketch(score.ticks, (Staff(0, ""), Staff(1, "")), moved, notes), tables)
    role = {note: strand.role for strand in reading.strands for line in strand.lines for note in line.notes}
    return {_key(note): _OF_STRAND[role[note.id]] for note in kept}


def condensed(notes: Iterable[SketchNote]) -> list[SketchNote]:
    """The notes of a score as a sketch has them: of octave copies the highest, and of the lowest note the lowest, too."""
    attacks: dict[int, dict[tuple[int, int, int], list[SketchNote]]] = defaultdict(lambda: defaultdict(list))
    for note in notes:
        attacks[note.onset][_key(note)].append(note)
    found = []
    for _, classes in sorted(attacks.items()):
        copies = [sorted(group, key=lambda note: (note.pitch.midi, note.id)) for group in classes.values()]
        low, high = min(group[0].pitch.midi for group in copies), max(group[-1].pitch.midi for group in copies)
        for group in copies:
            if group[0].pitch.midi == low:
                found.append(group[0])
            if group[0].pitch.midi > low or high == group[-1].pitch.midi > low:
                found.append(group[-1])
    return found


def named(name: str, tables: Tables) -> Instrument | None:
    """The instrument of a part's name: its own words first, then without those before it ("A Clarinet 1")."""
    words = [word for word in name.replace(",", " ").split() if not seat_number(word)]
    for first in range(len(words)):
        players = resolve(everyone(tables), " ".join(words[first:]))
        if len({kin(player.instrument) for player in players}) == 1:
            return players[0].instrument
    return None


def kin(instrument: Instrument) -> str:
    """Clarinets and trumpets of any pitch are one."""
    return instrument.id.removesuffix("_a").removesuffix("_bb").removesuffix("_c")


def _key(note: SketchNote) -> tuple[int, int, int]:
    return note.onset, note.end, note.pitch.midi % 12


def _classes(notes: Iterable[SketchNote]) -> set[tuple[int, int]]:
    return {(note.onset, note.pitch.midi % 12) for note in notes}


def _same(first: set[tuple[int, int]], second: set[tuple[int, int]], shared: float) -> bool:
    return len(first & second) >= shared * max(len(first), len(second))
