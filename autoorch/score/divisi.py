"""Words that tell a section who plays: "div." and "unis." at the changes, "half" and "tutti" where some rest."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from autoorch.lineup import Player
from autoorch.problem.data import WHOLE
from autoorch.problem.draft import Choice
from autoorch.score.marks import Placed
from autoorch.score.notation import Notation
from autoorch.score.streams import Grid, Played

SOLO, HALF = "solo", "half"
"""Techniques whose words a section's part says too where its share alone means them."""


@dataclass(frozen=True, slots=True)
class _Divided:
    """How many lines a section has, and how much of it plays (twelfths) where there is one, by what word."""

    lines: int = 1
    share: int = WHOLE
    word: str = ""


def divisi_words(
    player: Player, choices: Sequence[Choice], notes: Sequence[Played], grid: Grid, house: Notation
) -> list[Placed]:
    """The words of one section, at the first attack they hold for; nothing for a single player.

    A section counts as divided through every bar in which two of its notes sound at once somewhere, and through few bars between
    two such; one that comes in divided after a long rest is told again.
    """
    if player.size == 1:
        return []

    def alone(tick: int) -> _Divided:
        """Who plays where there is one line."""
        here = [choice for choice in choices if choice.start * grid.factor <= tick < choice.end * grid.factor]
        share = _share(here)
        return _Divided(1, share, _called(here, house) or _few(player, share, house))

    ends = [bar.end for bar in grid.bars]
    most: dict[int, int] = {}
    attacks: dict[int, int] = {}
    rested: set[int] = set()
    sounding: list[Played] = []
    for note, before in zip(notes, (None, *notes), strict=False):
        last = max((n.end for n in (*sounding, before) if n), default=note.onset)
        if note.onset - last >= house.dynamics["again_after_bars"] * grid.bar_at(note.onset).length:
            rested.add(note.onset)
        sounding = [n for n in sounding if n.end > note.onset] + [note]
        bar = bisect_right(ends, note.onset)
        most[bar] = max(most.get(bar, 1), len(sounding))
        attacks[note.onset] = len(sounding)
    few = {bisect_right(ends, tick) for tick in attacks if alone(tick) != _Divided()}
    divided = [bar for bar in sorted(most) if most[bar] > 1]
    for first, second in pairwise(divided):
        between = range(first + 1, second)
        if len(between) <= house.dynamics["undivided_bars"] and not few.intersection(between):
            most.update({bar: min(most[first], most[second]) for bar in between})
    found: list[Placed] = []
    state = _Divided()
    for tick, count in attacks.items():
        lines = most[bisect_right(ends, tick)]
        now = _Divided(lines) if lines > 1 else alone(tick)
        again = tick in rested and now.lines > 1 and now == state
        if (now == state and not again) or (count < lines and state.lines < lines):
            continue
        found.append(Placed(tick, "words", _word(state, now, house)))
        state = now
    return found


def _share(choices: Sequence[Choice]) -> int:
    return min(WHOLE, sum(choice.share for choice in choices)) if choices else WHOLE


def _called(choices: Sequence[Choice], house: Notation) -> str:
    """The word for the few whom a direction or an offer names."""
    rows = (house.techniques[technique] for choice in choices for technique in choice.techniques)
    return next((row["section"] for row in rows if "section" in row), "")


def _few(player: Player, share: int, house: Notation) -> str:
    """The word for a share (twelfths) of a section, "" for all of it."""
    if share == WHOLE:
        return ""
    people = max(1, round(player.size * share / WHOLE))
    if 2 * share == WHOLE or people == 1:
        named: str = house.techniques[HALF if 2 * share == WHOLE else SOLO]["section"]
        return named
    some: str = house.section["some"].format(people)
    return some


def _word(before: _Divided, now: _Divided, house: Notation) -> str:
    words = house.section
    if now.lines > 1:
        return words["divided"] if now.lines == 2 else words["divided_in"].format(now.lines)
    if now.word:
        return now.word
    return words["united"] if before.lines > 1 else words["everybody"]
