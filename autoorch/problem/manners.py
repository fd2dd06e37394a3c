"""In which ways a player may take a span: the ordinary one, the special ones that are offered, or what the brief asks for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import product

from autoorch.instruments import Instrument
from autoorch.layers.model import Manner, Material, MaterialStrand
from autoorch.lineup import Player
from autoorch.problem.data import WHOLE, Option
from autoorch.problem.divided import is_divided
from autoorch.problem.profile import Profile
from autoorch.tables import Tables


class Ways:
    """The manners of the material, looked up span by span."""

    def __init__(self, material: Material, tables: Tables) -> None:
        self.table = tables.rule("techniques")["technique"]
        self.speeds = tables.rule("limits")["speed"]
        self._of: dict[str, list[Manner]] = defaultdict(list)
        for manner in material.manners:
            self._of[manner.strand].append(manner)

    def of(
        self, strand: MaterialStrand, start: int, player: Player, profiles: Sequence[Profile], octave: int
    ) -> tuple[tuple[str, ...], ...]:
        """The ways to choose from for a span that starts at tick `start`: each a technique of some groups, () the ordinary way.

        In each group (the mute, the right hand) what the strand itself says, or what is asked for, is the only choice for
        whoever can; what is offered and too fast for the player is none.
        """
        groups: dict[str, list[str]] = defaultdict(list)
        if self.able(player.instrument, strand.technique):
            groups[self.table[strand.technique]["group"]].append(strand.technique)
        here = [manner for manner in self._here(strand, start, player) if not self._parts(manner.technique)]
        can = [m for m in here if not m.technique or self._can(player, m.technique, profiles, octave)]
        for manner in can:
            if manner.asked and not groups[self._group(manner)]:
                groups[self._group(manner)].append(manner.technique)
        settled = {group for group, ways in groups.items() if ways}
        for manner in can:
            group = self._group(manner)
            if group not in settled and self._quick(player.instrument, manner.technique, profiles):
                groups[group] = list(dict.fromkeys(("", *groups[group], manner.technique)))
        ways = product(*(ways for _, ways in sorted(groups.items())))
        return tuple(tuple(filter(None, way)) for way in ways)

    def _group(self, manner: Manner) -> str:
        group: str = self.table[manner.technique]["group"] if manner.technique else manner.group
        return group

    def parts(self, strand: MaterialStrand, start: int, player: Player) -> tuple[int, int]:
        """Among how many lines at least and at most the brief wants the player's section shared out; (1, 1) where it says
        nothing, or where the section is one player."""
        ways = (m.technique for m in self._here(strand, start, player) if m.asked)
        asked = (self._parts(way) for way in ways if self.could(player, player.instrument, way))
        least, most = next(filter(None, asked), (1, 1))
        return least, min(most, player.size)

    def able(self, instrument: Instrument, technique: str) -> bool:
        """The instrument can be played so."""
        kinds = self.table[technique]["kinds"] if technique else ()
        return instrument.kind in kinds or instrument.family in kinds or instrument.id in kinds

    def could(self, player: Player, instrument: Instrument, technique: str) -> bool:
        """The player can do so on the instrument; only a section can be divided."""
        return self.able(instrument, technique) and (player.size > 1 or not self._parts(technique))

    def is_so(self, option: Option, technique: str) -> bool:
        """An option is played in that way."""
        return is_divided(option) if self._parts(technique) else technique in option.techniques

    def _parts(self, technique: str) -> tuple[int, int] | None:
        row = self.table[technique] if technique else {}
        return (row["parts"][0], row["parts"][1]) if "parts" in row else None

    def _here(self, strand: MaterialStrand, start: int, player: Player) -> list[Manner]:
        return [
            manner
            for manner in self._of[strand.id]
            if manner.start <= start < manner.end and (not manner.players or player.name in manner.players)
        ]

    def _can(self, player: Player, technique: str, profiles: Sequence[Profile], octave: int) -> bool:
        """The player's instrument can, and has all the notes in that way."""
        row = self.table[technique]
        low, high = row.get("range", (0, 127))
        reaches = all(low <= p.low + 12 * octave and p.high + 12 * octave <= high for p in profiles)
        if "partials" in row:
            sounding = {string + partial for string in player.instrument.strings for partial in row["partials"]}
            reaches = reaches and all(n.pitch.midi + 12 * octave in sounding for p in profiles for n in p.notes)
        return reaches and self.able(player.instrument, technique)

    def share(self, techniques: Sequence[str], player: Player, share: int) -> int | None:
        """Twelfths of the player's section that play so, where `share` would; None where that is no choice."""
        rows = (self.table[technique] for technique in techniques)
        row = next((row for row in rows if {"people", "twelfths"} & row.keys()), None)
        if player.size == 1 or row is None:
            return share
        if share < WHOLE:
            return None
        return int(row.get("twelfths") or min(WHOLE, max(1, round(WHOLE * row["people"] / player.size))))

    def _quick(self, instrument: Instrument, technique: str, profiles: Sequence[Profile]) -> bool:
        speeds = self.speeds.get(self.table[technique].get("speed", ""), {})
        most = speeds.get(instrument.id)
        return most is None or all(max(p.repeated, p.moving) <= 100 * most for p in profiles)
