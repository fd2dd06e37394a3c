"""Players who change instruments: which one is held in each bar, and how the part says so, as early as it can."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from autoorch.instruments import Instrument
from autoorch.lineup import Player
from autoorch.score.marks import Placed
from autoorch.score.notation import Notation
from autoorch.score.streams import Grid, Played


def held(player: Player, notes: Sequence[Played], grid: Grid) -> tuple[Instrument | None, ...]:
    """For each bar the instrument that the player holds, None for the usual one: a change is made in the bar that needs it."""
    others = {other.id: other for other in player.doubles}
    if not others or not any(note.instrument for note in notes):
        return (None,) * len(grid.bars)
    last = {grid.bar_at(note.onset).index: others.get(note.instrument) for note in notes}
    found: list[Instrument | None] = []
    for bar in grid.bars:
        found.append(last[bar.index] if bar.index in last else found[-1] if found else None)
    return tuple(found)


def change_words(player: Player, notes: Sequence[Played], house: Notation) -> Iterator[Placed]:
    """ "To Picc." right after the last note before a change, the new name at the first note after it."""
    others = {other.id: other for other in player.doubles}
    before, end = player.instrument, 0
    for note in notes:
        now = others.get(note.instrument, player.instrument)
        if now.id != before.id:
            if end < note.onset:
                yield Placed(end, "words", house.change.format(now.name))
            yield Placed(note.onset, "words", now.name)
        before, end = now, max(end, note.end)
