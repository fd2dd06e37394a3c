"""Which of two sister instruments a player reads from: orchestras' clarinets change to the one in A where the one in B flat would
have many sharps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from autoorch.layers.model import Material
from autoorch.lineup import Lineup, Player
from autoorch.problem.draft import Choice
from autoorch.score.transpose import key_of
from autoorch.sketch.model import Bar
from autoorch.tables import Tables


def in_key(
    lineup: Lineup, bars: Sequence[Bar], choices: Sequence[Choice], material: Material, rows: Sequence[Mapping[str, Any]],
    tables: Tables,
) -> Lineup:  # fmt: skip
    """The line-up as its players read: all who have an instrument of a row take its sister, where most of the music asks for it,
    the row's other instruments are there, and the sister has all their notes."""
    for row in rows:
        sister, own = tables.instruments[row["sister"]], tables.instruments[row["instrument"]]
        players = [p for p in lineup.players if p.instrument.id == own.id]
        sharp = sum(bar.length for bar in bars if key_of(bar.fifths, own.transposition) >= row["sharps"])
        there = any(p.instrument.id == row["beside"] for p in lineup.players)
        if not there or 2 * sharp <= sum(bar.length for bar in bars):
            continue
        low, high = sister.extreme
        if all(low <= midi <= high for player in players for midi in _pitches(player, choices, material)):
            taken = {p.name: replace(p, instrument=sister) for p in players}
            lineup = replace(lineup, players=tuple(taken.get(p.name, p) for p in lineup.players))
    return lineup


def _pitches(player: Player, choices: Sequence[Choice], material: Material) -> set[int]:
    """Sounding pitches that a player has on his usual instrument."""
    return {
        note.pitch.midi + 12 * choice.octave
        for choice in choices
        if choice.player == player.name and not choice.instrument
        for line in choice.lines
        for note in material.line[line].notes
        if choice.start <= note.onset < choice.end
    }
