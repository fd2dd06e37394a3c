"""Every option that a player really has: who can take which lines of a span, holding what, in which octave, how played."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
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
from autoorch.roles.model import ROLES
from autoorch.tables import Tables


@dataclass(frozen=True, slots=True)
class Found:
    """A way to take lines of a span: who, holding what, how many octaves away, with what share of a section."""

    player: int
    held: Instrument
    lines: tuple[int, ...]
    octave: int
    share: int


@dataclass(frozen=True, slots=True)
class _Step:
    """How far the search for players goes: in which octaves, only among whom the plan means, without those to whom such a strand
    is foreign, beyond their usual speed."""

    octaves: tuple[int, ...]
    planned: bool = False
    strict: bool = True
    relaxed: bool = False


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
        octaves: Mapping[str, Any] = self.tables.rule("doubling")["octaves"]
        added = strand.texture if strand.texture == SHARED else "added"
        usual = tuple(octaves[strand.role if strand.layer == "assigned" else added])
        farthest = self.tables.rule("continuity")["cut"]["octaves"]
        far = tuple(k for k in range(-farthest, farthest + 1) if k not in usual)
        offer, hard = self.tables.rule("drafts")["offer"], self.tables.rule("playability")
        found: list[Found] = []
        open_lines = list(span.lines)
        for step in (
            _Step(usual, planned=True),
            _Step(usual),
            _Step(usual, strict=False),
            _Step(far),
            _Step(far, strict=False),
            _Step(usual + far, strict=False, relaxed=True),
        ):
            if not open_lines:
                break
            fresh = [
                one
                for hand in hands
                if self._asked_of(hand, strand, step)
                for one in self._of_hand(hand, span, strand, open_lines, shared.get(hand.player), step)
            ]
            if step.planned:
                seats = {k: len({entry.player for entry in fresh if k in entry.lines}) for k in open_lines}
                if min(seats.values()) < offer["enough"]:
                    continue
            if step.relaxed:
                fresh = _least(
                    fresh, lambda one: max(haste(one.held, span.lines[k], hard) for k in one.lines), offer["closest"]
                )
            if step.octaves is not usual:
                fresh = _least(fresh, lambda one: abs(one.octave))
            found += fresh
            open_lines = [
                line
                for line in span.lines
                if not any(line in entry.lines for entry in found)
                and ((span.index, line) in self.required or strand.layer == "assigned")
            ]
        return found

    def _asked_of(self, hand: Hand, strand: MaterialStrand, step: _Step) -> bool:
        """A step asks this hand for such a strand: whom it is planned for, or whoever it is not foreign to or named for."""
        if step.planned and not hand.planned:
            return False
        if not step.strict or hand.named or strand.families:
            return True
        idiom = self.tables.rule("idiom")
        return bool(idiom["roles"][hand.held.id][ROLES.index(strand.role)] < idiom["never"])

    def _of_hand(
        self,
        hand: Hand,
        span: Span,
        strand: MaterialStrand,
        open_lines: Sequence[int],
        parts: tuple[int, int] | None,
        step: _Step,
    ) -> list[Found]:
        """What one hand can do of a span's open lines in the octaves of a step; of a section that is to be divided among `parts`
        only the first way that it can."""
        player = replace(self.lineup.players[hand.player], instrument=hand.held)
        frames = self.tables.rule("limits")["strings"]["span"]
        hard = self.tables.rule("playability")
        frame = frames.get(hand.held.id, frames["cello"])[0]
        for takes in _takes(player, strand, span, open_lines, parts):
            own = [
                Found(hand.player, hand.held, lines, k, share)
                for lines, share in takes
                for k in sorted(step.octaves, key=abs)
                if can_take(player, [span.lines[line] for line in lines], k, frame, hard, relaxed=step.relaxed)
            ]
            if own:
                return own
        return []

    def _not_beyond(self, span: Span, found: Sequence[Found]) -> list[Found]:
        """The ways that stay between bass and tune, and all of those of a line that few players could have so."""
        inside = [entry for entry in found if not self.between.beyond(span, entry.lines, entry.octave)]
        seats = {line: len({entry.player for entry in inside if line in entry.lines}) for line in span.lines}
        enough = self.tables.rule("drafts")["offer"]["enough"]
        return [entry for entry in found if entry in inside or any(seats[line] < enough for line in entry.lines)]


def _least(found: Sequence[Found], asks: Callable[[Found], float], times: float = 1) -> list[Found]:
    """Those that ask of each of their lines at most so many times what the least asks of it."""
    amounts = [(asks(one), one) for one in found]
    least = {line: min(a for a, one in amounts if line in one.lines) for _, other in amounts for line in other.lines}
    return [one for amount, one in amounts if all(amount <= times * least[line] for line in one.lines)]


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
