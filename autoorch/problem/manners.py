"""In which ways a player may take a span: the ordinary one, the special ones that are offered, or what the brief asks for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from autoorch.instruments import Instrument
from autoorch.layers.model import Manner, Material, MaterialStrand
from autoorch.lineup import Player
from autoorch.problem.data import WHOLE
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
    ) -> tuple[str, ...]:
        """The techniques to choose from, "" for the ordinary way, for a span that starts at tick `start`.

        What is asked for, and what the strand itself says, is the only choice for whoever can; what is offered and too fast
        for the player is none.
        """
        if self.able(player.instrument, strand.technique):
            return (strand.technique,)
        here = [
            manner
            for manner in self._of[strand.id]
            if manner.start <= start < manner.end and (not manner.players or player.name in manner.players)
        ]
        asked = [
            m.technique
            for m in here
            if m.asked and (not m.technique or self._can(player, m.technique, profiles, octave))
        ]
        if asked:
            return (asked[0],)
        offered = dict.fromkeys(
            m.technique
            for m in here
            if not m.asked
            and self._can(player, m.technique, profiles, octave)
            and self._quick(player.instrument, m.technique, profiles)
        )
        return ("", *offered)

    def able(self, instrument: Instrument, technique: str) -> bool:
        """The instrument can be played so."""
        kinds = self.table[technique]["kinds"] if technique else ()
        return instrument.kind in kinds or instrument.family in kinds or instrument.id in kinds

    def _can(self, player: Player, technique: str, profiles: Sequence[Profile], octave: int) -> bool:
        """The player's instrument can, and has all the notes in that way."""
        row = self.table[technique]
        low, high = row.get("range", (0, 127))
        reaches = all(low <= p.low + 12 * octave and p.high + 12 * octave <= high for p in profiles)
        if "partials" in row:
            sounding = {string + partial for string in player.instrument.strings for partial in row["partials"]}
            reaches = reaches and all(n.pitch.midi + 12 * octave in sounding for p in profiles for n in p.notes)
        return reaches and self.able(player.instrument, technique)

    def share(self, technique: str, player: Player, share: int) -> int | None:
        """Twelfths of the player's section that play so, where `share` would; None where that is no choice."""
        row = self.table[technique] if technique else {}
        if player.size == 1 or not {"people", "twelfths"} & row.keys():
            return share
        if share < WHOLE:
            return None
        return int(row.get("twelfths") or min(WHOLE, max(1, round(WHOLE * row["people"] / player.size))))

    def _quick(self, instrument: Instrument, technique: str, profiles: Sequence[Profile]) -> bool:
        speeds = self.speeds.get(self.table[technique].get("speed", ""), {})
        most = speeds.get(instrument.id)
        return most is None or all(max(p.repeated, p.moving) <= 100 * most for p in profiles)
