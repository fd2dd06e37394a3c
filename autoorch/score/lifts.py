"""Where winds who play on for long take a breath while others hold what they leave: the end of a note that somebody else has too
is taken off, and of two players never both at once.

Orchestrators write out where the players of a pair breathe in turn, rather than leaving it to them (constraints/notation.toml
`[breath]`). A note that nobody else has stays whole.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

from autoorch.lineup import Player
from autoorch.score.notation import Notation
from autoorch.score.streams import Grid, Played

Hand = tuple[Player, Sequence[Played], Iterable[int]]
"""A player, the notes in hand by onset, and the ticks where choices or phrases begin."""


def lifted(
    hands: Sequence[Hand], seconds: Callable[[int], float], grid: Grid, house: Notation
) -> tuple[tuple[Played, ...], ...]:
    """The notes of each player, with a rest at the end of some that others hold.

    Args:
        seconds: from the beginning to a tick.
    """
    together = _Together([list(notes) for _, notes, _ in hands], seconds, grid, house)
    for number, (player, _, joints) in enumerate(hands):
        stretch = player.instrument.fluency.stretch_s
        if stretch is not None and player.size == 1:
            together.breathe(number, min(stretch[0], house.breath["lift_s"]), frozenset(joints))
    return tuple(map(tuple, together.notes))


@dataclass
class _Together:
    """What all players have in hand, as far as it has been lifted."""

    notes: list[list[Played]]
    seconds: Callable[[int], float]
    grid: Grid
    house: Notation
    at: dict[int | str, list[tuple[int, int]]] = field(init=False)
    """Sounding pitch, or id of a sketch note, -> (player, note) that have it."""

    def __post_init__(self) -> None:
        self.at = defaultdict(list)
        for number, own in enumerate(self.notes):
            for k, note in enumerate(own):
                for key in _keys(note):
                    self.at[key].append((number, k))

    def breathe(self, number: int, limit: float, joints: frozenset[int]) -> None:
        """Lift one player's notes so that no stretch lasts much longer than `limit` seconds, where others allow it."""
        own = self.notes[number]
        begun, free = None, list[int]()
        for k, note in enumerate(own):
            start = self.seconds(note.onset)
            if begun is None or start - self.seconds(own[k - 1].end) >= self.house.breath["rest_s"]:
                begun, free = start, []
            while free and self.seconds(note.end) - begun > limit:
                place = max(free, key=lambda k: (self._worth(own[k], joints), k))
                own[place] = replace(own[place], end=own[place].end - self._rest(own[place].end))
                begun = self.seconds(own[place + 1].onset)
                free = [other for other in free if other > place]
            if k + 1 < len(own) and self._free(number, note, own[k + 1]):
                free.append(k)

    def _worth(self, note: Played, joints: frozenset[int]) -> int:
        """How good a place to breathe its end is: a joint, a bar line, any."""
        if note.end in joints:
            return 2
        return int(note.end == self.grid.bar_at(note.end).onset)

    def _free(self, number: int, note: Played, after: Played) -> bool:
        """The note can be lifted before the next one: it is long enough and simply written, and somebody else holds it on."""
        rest = self._rest(note.end)
        if after.onset != note.end or 2 * rest > note.end - note.onset or note.note.swell:
            return False
        if "fermata" in note.note.marks or any(
            2 * (tick - self.grid.bar_at(tick).onset) % rest for tick in (note.onset, note.end)
        ):
            return False
        others = {other for key in _keys(note) for other in self.at[key]}
        return any(
            other != number and self.notes[other][k].onset <= note.end - rest and self.notes[other][k].end >= note.end
            for other, k in others
        )

    def _rest(self, end: int) -> int:
        """Ticks of the shortest note value that leaves time to breathe before `end`."""
        value: int = max(1, round(self.grid.ticks * self.house.breath["rest_quarters"]))
        while value < end and self.seconds(end) - self.seconds(end - value) < self.house.breath["rest_s"]:
            value *= 2
        return value


def _keys(note: Played) -> tuple[int | str, ...]:
    """What it is known by to others who have it: its sounding pitch and its sketch notes."""
    return note.midi, *note.note.sources
