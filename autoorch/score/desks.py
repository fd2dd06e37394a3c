"""The staves of one player: one; for a percussionist one for each instrument that he plays, with its own name, clef and sound."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from autoorch.lineup import Player
from autoorch.problem.draft import Choice


def desks(player: Player, choices: Sequence[Choice]) -> list[tuple[Player, list[Choice]]]:
    """Who stands in front of each staff, and what is played there; a percussionist without a note keeps one empty staff."""
    if player.instrument.family != "percussion" or not player.doubles:
        return [(player, list(choices))]
    found = []
    for instrument in sorted((player.instrument, *player.doubles), key=lambda i: i.order):
        own = [choice for choice in choices if (choice.instrument or player.instrument.id) == instrument.id]
        if own:
            name = f"{player.name}: {instrument.name}"
            found.append((replace(player, name=name, instrument=instrument, number=0, doubles=()), own))
    return found or [(player, [])]
