"""Loud chords that brass and woodwind share: the brass are marked a degree softer, so that the chord is one chord (common
practice; a trumpet has the strength of two horns or four woodwinds: Rimsky-Korsakov ch. I)."""

from __future__ import annotations

from collections.abc import Iterable

from autoorch.layers.model import Material
from autoorch.lineup import Player
from autoorch.problem.draft import Choice
from autoorch.score.notation import Notation

Spans = tuple[tuple[int, int], ...]
"""(start, end) in the sketch's ticks."""


def yields(player: Player, choices: Iterable[Choice], covered: Spans, material: Material, house: Notation) -> Spans:
    """Where a player has chords in which he gives way.

    Args:
        choices: his own.
        covered: see `chords_of`, those of the woodwind.
    """
    if player.instrument.id not in house.dynamics["yielding"]:
        return ()
    return tuple(
        (start, end)
        for start, end in _chords(choices, material)
        if any(first < end and last > start for first, last in covered)
    )


def chords_of(family: str, choices: Iterable[tuple[Player, Choice]], material: Material) -> Spans:
    """Where players of a family have chords."""
    return _chords((choice for player, choice in choices if player.instrument.family == family), material)


def _chords(choices: Iterable[Choice], material: Material) -> Spans:
    found = {(c.start, c.end) for c in choices if material.strand[c.strand].role == "inner"}
    return tuple(sorted(found))
