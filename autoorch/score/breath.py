"""Where a player breathes: at the joints that the plan chose, before the breath runs out.

How long a breath lasts stands with each instrument (fluency.stretch_s in constraints/instruments.toml).
"""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from autoorch.lineup import Player
from autoorch.score.notation import Notation
from autoorch.score.streams import Played

MARK = "breath-mark"


def breaths(
    player: Player,
    notes: Sequence[Played],
    joints: Iterable[int],
    seconds: Callable[[int], float],
    house: Notation,
) -> tuple[Played, ...]:
    """The notes, with a breath mark on the last one before each joint where air must be taken.

    A stretch without a rest that goes on for longer than comes easily is divided at the last joint inside it; where a
    short rest stands there it says enough, and where there is no joint the player finds a place himself.

    Args:
        notes: by onset; a section's lines breathe one by one.
        joints: ticks where his choices or the phrases begin.
        seconds: from the beginning to a tick.
    """
    limits = player.instrument.fluency.stretch_s
    if limits is None:
        return tuple(notes)
    places = sorted(set(joints))
    marked: set[int] = set()
    for line in {note.line for note in notes} if player.size > 1 else {""}:
        own = [k for k, note in enumerate(notes) if line in ("", note.line)]
        start = seconds(notes[own[0]].onset) if own else 0.0
        free = 0
        for place, (k, after) in enumerate(itertools.pairwise(own)):
            end, onset = seconds(notes[k].end), seconds(notes[after].onset)
            if onset - end >= house.breath["gap_s"] or MARK in notes[k].note.marks:
                start, free = onset, place + 1
                continue
            if seconds(notes[after].end) - start <= limits[0]:
                continue
            inside = [j for j in range(free, place + 1) if _joint(places, notes[own[j]], notes[own[j + 1]])]
            if inside:
                if notes[own[inside[-1]]].end >= notes[own[inside[-1] + 1]].onset:
                    marked.add(own[inside[-1]])
                free = inside[-1] + 1
                start = seconds(notes[own[free]].onset)
    return tuple(_breathing(note) if k in marked else note for k, note in enumerate(notes))


def _joint(places: Sequence[int], before: Played, after: Played) -> bool:
    """A joint lies between the two notes."""
    index = bisect_right(places, after.onset) - 1
    return index >= 0 and places[index] >= before.end and before.onset < after.onset


def _breathing(note: Played) -> Played:
    return replace(note, note=replace(note.note, marks=tuple(sorted({*note.note.marks, MARK}))))
