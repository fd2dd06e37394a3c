"""Written cues of the sketch ("2 Fl 8va", "Str. trem.", "solo Cl") as directions with their place and extent.

A cue for players holds to the next one on its staff or to the phrase's end, a way of playing to the next one or to the
section's end. What asks for something but is not understood is kept as text.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from autoorch.brief import STRAND_ROLES, WISHES, Brief, Direction, Shape
from autoorch.lineup import Lineup, resolve
from autoorch.roles.cuewords import Meaning, understand, vocabulary
from autoorch.roles.model import Cue, Phrase, Reading, Strand
from autoorch.sketch.bars import bars_of
from autoorch.sketch.model import Mark, Sketch
from autoorch.tables import Tables


def find_cues(sketch: Sketch, phrases: Sequence[Phrase], strands: Sequence[Strand], tables: Tables) -> tuple[Cue, ...]:
    """The cues among the words of the sketch, in order of time."""
    words = vocabulary(tables)
    said = [(mark, understand(mark.value, words, tables)) for mark in sketch.marks if mark.kind == "words"]
    cues = [(mark, meaning) for mark, meaning in said if meaning.speaks]
    found = []
    for mark, meaning in cues:
        start, end = mark.onset, _end(sketch, mark, meaning, cues, phrases)
        if start >= end:
            continue
        directions: tuple[Direction, ...] = ()
        if meaning.understood:
            directions = tuple(_directions(sketch, mark, meaning, start, end, strands, words.mixed))
        weight = meaning.weight if meaning.understood and not meaning.names else None
        found.append(Cue(start, end, mark.staff, mark.value, directions, weight))
    return tuple(sorted(found, key=lambda cue: (cue.start, cue.staff, cue.text)))


def not_understood(sketch: Sketch, cues: Iterable[Cue]) -> tuple[str, ...]:
    """A line for each cue that asks for nothing."""
    silent = (cue for cue in cues if not cue.directions and cue.weight is None)
    return tuple(f'bar {sketch.bar_at(cue.start).number}: the cue "{cue.text}" was not understood' for cue in silent)


def _end(
    sketch: Sketch, mark: Mark, meaning: Meaning, cues: Sequence[tuple[Mark, Meaning]], phrases: Sequence[Phrase]
) -> int:
    """Where a cue stops to hold; one just before a joint belongs to what follows."""
    bar = sketch.bar_at(mark.onset)
    reach = mark.onset + 4 * sketch.ticks // bar.metre[1]
    k = next((k for k, phrase in enumerate(phrases) if phrase.end > reach), len(phrases) - 1)
    if not meaning.names and meaning.weight is None:
        while k + 1 < len(phrases) and phrases[k + 1].section == phrases[k].section:
            k += 1
    after = [
        other.onset
        for other, means in cues
        if other.onset > mark.onset
        and other.staff == mark.staff
        and (
            (means.names or means.weight is not None)
            if meaning.names or meaning.weight is not None
            else means.technique
        )
    ]
    return min([phrases[k].end if phrases else sketch.end, *after])


def _directions(
    sketch: Sketch, mark: Mark, meaning: Meaning, start: int, end: int, strands: Sequence[Strand], mixed: frozenset[str]
) -> Iterable[Direction]:
    """One direction for the role that leads on the cue's staff; for whole groups one for each role there; for who is to rest
    one for all roles."""
    if meaning.silent:
        yield direction_at(sketch, Direction(avoid=tuple(meaning.names)), start, end)
        return
    if not (meaning.names or meaning.technique or meaning.octave is not None):
        return
    roles = [meaning.role] if meaning.role else _roles(sketch, mark, start, end, strands)
    several = not meaning.names or not mixed.isdisjoint(meaning.names)
    for role in roles if several else roles[:1]:
        asked = Direction(role=role, prefer=tuple(meaning.names), octave=meaning.octave, technique=meaning.technique)
        yield direction_at(sketch, asked, start, end)


def _roles(sketch: Sketch, mark: Mark, start: int, end: int, strands: Sequence[Strand]) -> list[str]:
    """The brief's roles that sound on the mark's staff there, the one that leads first; [""] where none does."""
    order = ("melody", "counterline", "bass", "figure", "harmony")
    found = set()
    for strand in strands:
        for line in strand.lines:
            notes = (sketch.by_id[note] for note in line.notes)
            if any(start <= n.onset < end and mark.staff in (-1, n.staff) for n in notes):
                found.add(next(role for role in order if strand.role in STRAND_ROLES[role]))
    return [role for role in order if role in found] or [""]


def direction_at(sketch: Sketch, direction: Direction, start: int, end: int) -> Direction:
    """The direction over its place, with where it comes from."""
    return replace(direction, bars=bars_of(sketch, start, end), origin=f"sketch, bar {sketch.bar_at(start).number}")


def heeded(
    brief: Brief, sketch: Sketch, reading: Reading, lineup: Lineup, tables: Tables
) -> tuple[Brief, tuple[str, ...]]:
    """The brief with what the sketch's cues ask for before its own, and a line for each cue that asks for nobody there."""
    directions, shapes, missing = [], [], []
    for cue in reading.cues:
        if cue.weight is not None:
            shapes.append(Shape(bars_of(sketch, cue.start, cue.end), cue.weight))
        for direction in cue.directions:
            kept: dict[str, Any] = {}
            for wish in WISHES:
                names = getattr(direction, wish)
                kept[wish] = tuple(name for name in names if resolve(lineup, name))
                gone = sorted(set(names) - set(kept[wish]))
                if gone and wish != "avoid":
                    missing.append(
                        f'{direction.origin}: "{cue.text}" asks for {", ".join(gone)}; {lineup.name} has none'
                    )
            asked = replace(direction, **kept)
            if asked.must or asked.prefer or asked.only or asked.avoid or (asked.technique and not direction.prefer):
                directions.append(asked)
    return replace(brief, directions=(*directions, *brief.directions), shapes=(*shapes, *brief.shapes)), tuple(
        dict.fromkeys(missing)
    )
