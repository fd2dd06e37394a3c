"""Who is booked: the trade's shorthand ("2.2.2.2 - 4.2.3.1 - tmp+1 - hp - str") and the presets, read into players and sections."""

from __future__ import annotations

from dataclasses import dataclass

from autoorch.tables import Instrument


@dataclass(frozen=True, slots=True)
class Player:
    """One wind, percussion or keyboard player, one solo string, or one whole string or choir section.

    Attributes:
        name: "Flute 1", "Horn 3", "Violins I", "Violoncellos", "Timpani", "Harp".
        instrument: the usual one; `doubles`: others that this player can change to ("Flute 3" doubling piccolo).
        size: number of people (1 for winds, 16 for a large first violin section).
        number: seat within its like (Horn 3 -> 3), 0 where there is only one.
        group: bracket name: "Woodwind", "Brass", "Percussion", "Harp and keyboards", "Voices", "Strings".
    """

    name: str
    instrument: Instrument
    size: int = 1
    number: int = 0
    group: str = ""
    doubles: tuple[Instrument, ...] = ()


@dataclass(frozen=True, slots=True)
class Lineup:
    """All players in score order."""

    name: str
    players: tuple[Player, ...]

    @property
    def by_name(self) -> dict[str, Player]:
        return {player.name: player for player in self.players}
