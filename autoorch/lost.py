"""What one draft has and another of the same cue has not: notes left out, heard only in another octave, doubled by fewer.

Counted attack by attack over everything that is played, so that nothing is passed over; told by role and run of bars.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from autoorch.sketch.bars import runs
from autoorch.sketch.model import Sketch
from autoorch.solver.vary import Solved, instrument_of

ESSENTIAL = ("bass", "melody", "inner", "rhythm", "figure", "counterline", "pedal")
"""Roles in the order in which a reduction keeps them."""
KINDS = ("left out", "only in another octave", "doubled by fewer")
Attack = tuple[int, int | str]
"""(onset in ticks, sounding MIDI pitch, or the instrument that is struck where it has none)"""


@dataclass(frozen=True, slots=True)
class Loss:
    """One thing lost.

    Attributes:
        kind: one of KINDS.
        role: of the strand; added: it is none of the sketch's own.
        bars: indices, in order.
        players: who had it in the first draft and has it no longer.
    """

    kind: str
    role: str
    added: bool
    bars: tuple[int, ...]
    players: tuple[str, ...]

    def told(self, sketch: Sketch) -> str:
        """ "bars 9-12, melody: doubled by fewer (Flute 1, Horn 2)"."""
        own = f"added {self.role}" if self.added else self.role
        return f"{runs(sketch, self.bars)}, {own}: {self.kind} ({', '.join(self.players)})"


def lost(sketch: Sketch, one: Solved, two: Solved) -> tuple[Loss, ...]:
    """What the first draft has and the second has not, by importance."""
    before, after = _attacks(one), _attacks(two)
    degrees = {(onset, pitch % 12) for onset, pitch in after if isinstance(pitch, int)}
    bars: dict[tuple[int, int, bool], set[int]] = defaultdict(set)
    players: dict[tuple[int, int, bool], dict[str, None]] = defaultdict(dict)
    for (onset, pitch), had in before.items():
        has = after.get((onset, pitch), [])
        if len(has) >= len(had):
            continue
        kind = 2 if has else 1 if isinstance(pitch, int) and (onset, pitch % 12) in degrees else 0
        still = {player for player, _, _ in has}
        gone = [row for row in had if row[0] not in still][: len(had) - len(has)]
        for player, role, added in gone:
            key = ESSENTIAL.index(role), kind, added
            bars[key].add(sketch.bar_at(onset).index)
            players[key][player] = None
    return tuple(
        Loss(
            KINDS[kind],
            ESSENTIAL[role],
            added,
            tuple(sorted(bars[role, kind, added])),
            tuple(players[role, kind, added]),
        )
        for role, kind, added in sorted(bars, key=lambda key: (key[2], key[0], key[1]))
    )


def _attacks(solved: Solved) -> dict[Attack, list[tuple[str, str, bool]]]:
    """Attack -> (player, role, of an added strand) of each who plays it; grace notes left out."""
    data, draft = solved
    found: dict[Attack, dict[str, tuple[str, str, bool]]] = defaultdict(dict)
    for choice in draft.choices:
        strand = data.material.strand[choice.strand]
        instrument = data.tables.instruments[instrument_of(data, choice)]
        row = (choice.player, strand.role, strand.layer != "assigned")
        for line in choice.lines:
            for note in data.material.line[line].notes:
                if choice.start <= note.onset < choice.end and note.duration:
                    struck = instrument.id if instrument.kind == "unpitched" else note.pitch.midi + 12 * choice.octave
                    found[note.onset, struck].setdefault(choice.player, row)
    return {attack: list(rows.values()) for attack, rows in found.items()}
