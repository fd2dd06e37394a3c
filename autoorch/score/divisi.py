"""Words that tell a section who plays: "div." and "unis." at the changes, "half" and "tutti" where some rest."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.lineup import Player
from autoorch.problem.draft import Choice
from autoorch.score.marks import Placed
from autoorch.score.streams import Grid, Played

WHOLE = 12
"""Shares of a section are counted in twelfths."""


def divisi_words(player: Player, choices: Sequence[Choice], notes: Sequence[Played], grid: Grid) -> list[Placed]:
    """The words of one section; nothing for a single player."""
    if player.size == 1:
        return []
    heard = {(note.line, note.note.onset) for note in notes}
    live = [
        (choice, [line for line in choice.lines if any(l == line and choice.start <= t < choice.end for l, t in heard)])
        for choice in choices
    ]
    found: list[Placed] = []
    state = (1, WHOLE)
    for tick in dict.fromkeys(note.onset for note in notes):
        here = [(c, lines) for c, lines in live if c.start * grid.factor <= tick < c.end * grid.factor and lines]
        count = sum(len(lines) for _, lines in here)
        share = min(WHOLE, sum(choice.share for choice, _ in here))
        now = (count, share if count == 1 else WHOLE)
        if now != state:
            found.append(Placed(tick, "words", _word(player, state, now)))
            state = now
    return found


def _word(player: Player, before: tuple[int, int], now: tuple[int, int]) -> str:
    count, share = now
    if count > 1:
        return "div." if count == 2 else f"div. a{count}"
    if share < WHOLE:
        people = max(1, round(player.size * share / WHOLE))
        return "half" if 2 * share == WHOLE else "solo" if people == 1 else f"{people} players"
    return "unis." if before[0] > 1 else "tutti"
