"""Words that tell a section who plays: "div." and "unis." at the changes, "half" and "tutti" where some rest."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from autoorch.lineup import Player
from autoorch.problem.draft import Choice
from autoorch.score.marks import Placed
from autoorch.score.streams import Grid, Played

WHOLE = 12
"""Shares of a section are counted in twelfths."""
CALLED = {"solo": "solo", "one_desk": "1 desk", "half": "half"}
"""Technique -> what the part says."""


@dataclass(frozen=True, slots=True)
class _Divided:
    """How many lines a section has, and how much of it plays (twelfths) where there is one, by what word."""

    lines: int = 1
    share: int = WHOLE
    word: str = ""


def divisi_words(player: Player, choices: Sequence[Choice], notes: Sequence[Played], grid: Grid) -> list[Placed]:
    """The words of one section, at the first attack they hold for; nothing for a single player.

    A section counts as divided through every bar in which two of its notes sound at once somewhere.
    """
    if player.size == 1:
        return []
    ends = [bar.end for bar in grid.bars]
    most: dict[int, int] = {}
    attacks: dict[int, int] = {}
    sounding: list[Played] = []
    for note in notes:
        sounding = [n for n in sounding if n.end > note.onset] + [note]
        bar = bisect_right(ends, note.onset)
        most[bar] = max(most.get(bar, 1), len(sounding))
        attacks[note.onset] = len(sounding)
    found: list[Placed] = []
    state = _Divided()
    for tick, count in attacks.items():
        lines = most[bisect_right(ends, tick)]
        here = [choice for choice in choices if choice.start * grid.factor <= tick < choice.end * grid.factor]
        now = _Divided(lines) if lines > 1 else _Divided(1, _share(here), _called(here))
        if now == state or (count < lines and state.lines < lines):
            continue
        found.append(Placed(tick, "words", _word(player, state, now)))
        state = now
    return found


def _share(choices: Sequence[Choice]) -> int:
    return min(WHOLE, sum(choice.share for choice in choices)) if choices else WHOLE


def _called(choices: Sequence[Choice]) -> str:
    """The word for the few whom a direction or an offer names."""
    return next((CALLED[choice.technique] for choice in choices if choice.technique in CALLED), "")


def _word(player: Player, before: _Divided, now: _Divided) -> str:
    if now.lines > 1:
        return "div." if now.lines == 2 else f"div. a{now.lines}"
    if now.word:
        return now.word
    if now.share < WHOLE:
        people = max(1, round(player.size * now.share / WHOLE))
        return "half" if 2 * now.share == WHOLE else "solo" if people == 1 else f"{people} players"
    return "unis." if before.lines > 1 else "tutti"
