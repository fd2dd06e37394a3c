"""Every option that a player really has: who can take which lines of a span, holding what, in which octave, how played."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from autoorch.instruments import Instrument
from autoorch.layers.model import SHARED, Material, MaterialStrand
from autoorch.lineup import Lineup, Player
from autoorch.problem.between import FILLING, Between
from autoorch.problem.data import WHOLE, Option, Span, Wish
from autoorch.problem.divided import HALF, Take, divided_takes
from autoorch.problem.feasible import can_take, haste
from autoorch.problem.hands import Hand, hands_of
from autoorch.problem.manners import Ways
from autoorch.problem.spans import FARTHEST
from autoorch.roles.model import ROLES
from autoorch.tables import Tables

ENOUGH = 5
"""Players to choose from for each line, from which nobody outside the plan is considered for chords and figures."""
CLOSEST = 1.1
"""Where nobody can play a line as it stands, those are offered who fall short of its speed by up to so many times the least."""


@dataclass(frozen=True, slots=True)
class Found:
    """A way to take lines of a span: who, holding what, how many octaves away, with what share of a section."""

    player: int
    held: Instrument
    lines: tuple[int, ...]
    octave: int
    share: int


@dataclass(frozen=True)
class Offers:
    """What players can have: `required` are the (span, line) that somebody must play, `asked` the directions."""

    material: Material
    lineup: Lineup
    tables: Tables
    required: frozenset[tuple[int, int]]
    asked: Sequence[Wish]
    ways: Ways
    between: Between

    def found(self, span: Span) -> list[Found]:
        """The ways to take one span's lines."""
        strand = self.material.strands[span.strand]
        hands = hands_of(span, strand, self.material.plan[span.phrase], self.lineup, self.asked, self.tables)
        shared = {
            number: parts
            for number in {hand.player for hand in hands}
            if (parts := self.ways.parts(strand, span.start, self.lineup.players[number]))[1] > 1
        }
        found = self._widened(span, strand, hands, shared)
        if strand.layer == "assigned" and strand.role in FILLING and not self._octave_asked(span, strand):
            return self._not_beyond(span, found)
        return found

    def options(self, span: Span, found: Sequence[Found], first: int) -> Iterator[Option]:
        """The options of these ways, numbered from `first`: one for each way of playing."""
        strand, number = self.material.strands[span.strand], itertools.count(first)
        for one in found:
            profiles = [span.lines[k] for k in one.lines]
            onset, end = min(p.onset for p in profiles), max(p.end for p in profiles)
            player = replace(self.lineup.players[one.player], instrument=one.held)
            other = "" if one.held is self.lineup.players[one.player].instrument else one.held.id
            for techniques in self.ways.of(strand, span.start, player, profiles, one.octave):
                share = self.ways.share(techniques, player, one.share)
                if share is not None:
                    yield Option(
                        next(number), one.player, span.index, one.lines, one.octave, share, onset, end, techniques,
                        other,
                    )  # fmt: skip

    def _octave_asked(self, span: Span, strand: MaterialStrand) -> bool:
        """A direction says in which octave."""
        return any(
            wish.octave is not None and wish.start < span.end and wish.end > span.start
            for wish in self.asked
            if not wish.roles or strand.role in wish.roles
        )

    def _widened(
        self, span: Span, strand: MaterialStrand, hands: Sequence[Hand], shared: Mapping[int, tuple[int, int]]
    ) -> list[Found]:
        """The ways to take the lines, widened step by step for lines that nobody could take. `shared`: players who are to be
        divided, among how many lines at least and at most.

        First come those to whom the plan gives it, wherever they are enough for each line.
        """
        idiom = self.tables.rule("idiom")
        octaves: Mapping[str, Any] = self.tables.rule("doubling")["octaves"]
        added = strand.texture if strand.texture == SHARED else "added"
        usual = tuple(octaves[strand.role if strand.layer == "assigned" else added])
        column = ROLES.index(strand.role)
        frames = self.tables.rule("limits")["strings"]["span"]
        found: list[Found] = []
        open_lines = list(span.lines)
        far = tuple(k for k in range(-FARTHEST, FARTHEST + 1) if k not in usual)
        for shifts, planned, strict, relaxed in (
            (usual, True, True, False),
            (usual, False, True, False),
            (usual, False, False, False),
            (far, False, True, False),
            (far, False, False, False),
            (usual + far, False, False, True),
        ):
            if not open_lines:
                break
            fresh: list[Found] = []
            for hand in hands:
                held = hand.held
                if planned and not hand.planned:
                    continue
                meant = hand.named or bool(strand.families)
                if strict and not meant and idiom["roles"][held.id][column] >= idiom["never"]:
                    continue
                player = replace(self.lineup.players[hand.player], instrument=held)
                frame = frames.get(held.id, frames["cello"])[0]
                for takes in _takes(player, strand, span, open_lines, shared.get(hand.player)):
                    own = [
                        Found(hand.player, held, lines, k, share)
                        for lines, share in takes
                        for k in sorted(shifts, key=abs)
                        if can_take(player, [span.lines[line] for line in lines], k, frame, relaxed=relaxed)
                    ]
                    fresh += own
                    if own:
                        break
            if planned:
                seats = {k: len({entry.player for entry in fresh if k in entry.lines}) for k in open_lines}
                if min(seats.values()) < ENOUGH:
                    continue
            if relaxed and fresh:
                asked = [max(haste(entry.held, span.lines[k]) for k in entry.lines) for entry in fresh]
                least = {
                    line: min(a for a, e in zip(asked, fresh, strict=True) if line in e.lines)
                    for entry in fresh
                    for line in entry.lines
                }
                fresh = [e for a, e in zip(asked, fresh, strict=True) if all(a <= CLOSEST * least[k] for k in e.lines)]
            if shifts is not usual and fresh:
                nearest = {
                    line: min(abs(e.octave) for e in fresh if line in e.lines)
                    for entry in fresh
                    for line in entry.lines
                }
                fresh = [e for e in fresh if all(abs(e.octave) == nearest[line] for line in e.lines)]
            found += fresh
            open_lines = [
                line
                for line in span.lines
                if not any(line in entry.lines for entry in found)
                and ((span.index, line) in self.required or strand.layer == "assigned")
            ]
        return found

    def _not_beyond(self, span: Span, found: Sequence[Found]) -> list[Found]:
        """The ways that stay between bass and tune, and all of those of a line that few players could have so."""
        inside = [entry for entry in found if not self.between.beyond(span, entry.lines, entry.octave)]
        seats = {line: len({entry.player for entry in inside if line in entry.lines}) for line in span.lines}
        return [entry for entry in found if entry in inside or any(seats[line] < ENOUGH for line in entry.lines)]


def _takes(
    player: Player,
    strand: MaterialStrand,
    span: Span,
    open_lines: Sequence[int],
    parts: tuple[int, int] | None,
) -> list[list[Take]]:
    """A line alone; half a section on it; two lines as double stops; all lines for keyboard or harp. Where a section is to be
    divided into `parts`, its ways to do that, by preference."""
    instrument = player.instrument
    lines = [k for k in span.lines if k in open_lines]
    own = [k for k in span.lines if not strand.lines[k].reduced]
    if parts and set(own) & set(lines):
        return divided_takes([k for k in own if k in lines], *parts)
    takes: list[Take] = [((k,), WHOLE) for k in lines]
    divides = instrument.kind == "bowed" and player.size >= 4
    if divides and (len(own) > 1 or strand.role in ("inner", "figure", "pedal")):
        takes += [((k,), HALF) for k in lines if not strand.lines[k].reduced]
    if len(own) > 1 and set(own) & set(open_lines):
        if instrument.kind == "bowed" and player.size == 1:
            takes += [(pair, WHOLE) for pair in itertools.pairwise(own)]
        if instrument.kind in ("keys", "plucked"):
            takes.append((tuple(own), WHOLE))
    return [takes]
