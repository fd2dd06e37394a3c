"""The problem in plain integers: spans of strands, and for each span every way in which some player could take it.

Everything the rules talk about is here; nothing here knows a solver.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

from autoorch.layers.model import Material, MaterialNote, MaterialStrand, PhrasePlan
from autoorch.lineup import Lineup, Player
from autoorch.problem.feasible import one_hand, two_hands
from autoorch.problem.profile import Profile
from autoorch.problem.terms import Groups, Literal
from autoorch.roles.model import Chord
from autoorch.tables import Instrument, Tables

WHOLE = 12
"""Shares of a section are counted in twelfths."""
SOME = ("solo", "one_desk", "half")
"""Techniques in which a part of a section plays."""


@dataclass(frozen=True, slots=True)
class Span:
    """A strand from one cut to the next.

    Attributes:
        strand: index into `ProblemData.strands`.
        phrase: index into `ProblemData.plan`.
        start, end: ticks.
        length: in quarter-bars (at least 1), the weight of costs that last.
        lines: index of each line of the strand that has notes here -> its facts.
    """

    index: int
    strand: int
    phrase: int
    start: int
    end: int
    length: int
    lines: dict[int, Profile]


@dataclass(frozen=True, slots=True)
class Option:
    """One player could take `lines` (line indices of the strand) of `span`, `octave` octaves away, with `share` twelfths.

    `techniques` are keys of constraints/techniques.toml, at most one of each group (muted and plucked), () for the ordinary way;
    `instrument` is the id of the one a doubling player takes, "" for the usual one.
    """

    index: int
    player: int
    span: int
    lines: tuple[int, ...]
    octave: int
    share: int
    onset: int
    end: int
    techniques: tuple[str, ...] = ()
    instrument: str = ""


@dataclass(frozen=True, slots=True)
class Cell:
    """A stretch of time in which every strand keeps one span."""

    index: int
    phrase: int
    start: int
    end: int
    length: int
    spans: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Wish:
    """One direction of the brief on the grid: kind "must", "only", "avoid" or "prefer" for the players (indices), over ticks.

    Attributes:
        name: as the user would say it, for messages.
        roles: strand roles it is about; () for all.
        octave: octave shift asked for, or None.
        families: sets of the players any of whom does for a role, since a word for a family means them ("Strings").
    """

    name: str
    kind: str
    players: tuple[int, ...]
    roles: tuple[str, ...]
    start: int
    end: int
    octave: int | None = None
    families: tuple[tuple[int, ...], ...] = ()

    @property
    def seats(self) -> tuple[tuple[int, ...], ...]:
        """Of whom each one should have the role: a player by himself, or any of a family."""
        within = {player for family in self.families for player in family}
        return (*self.families, *((player,) for player in self.players if player not in within))


@dataclass
class ProblemData:
    """All that the rules need. Options, spans and cells are listed in time order, phrase by phrase.

    `bars` are ticks of bar lines.
    """

    tables: Tables
    lineup: Lineup
    material: Material
    chords: tuple[Chord, ...]
    ticks: int
    strands: tuple[MaterialStrand, ...]
    plan: tuple[PhrasePlan, ...]
    spans: tuple[Span, ...]
    cells: tuple[Cell, ...]
    options: tuple[Option, ...]
    phrase_ms: tuple[int, ...]
    span_ms: tuple[int, ...]
    bars: tuple[int, ...]
    bar_name: dict[int, str]
    required: frozenset[tuple[int, int]]
    wishes: tuple[Wish, ...] = ()
    leading: str = ""
    losses: tuple[str, ...] = ()
    groups: Groups = field(default_factory=Groups)

    @property
    def players(self) -> tuple[Player, ...]:
        return self.lineup.players

    def instrument(self, option: Option) -> Instrument:
        """What the player holds for it, as far as the player can play it."""
        player = self.players[option.player]
        if not option.instrument:
            return player.instrument
        own = (each for each in player.doubles if each.id == option.instrument)
        return next(own, self.tables.instruments[option.instrument])

    def role(self, option: Option) -> str:
        return self.strands[self.spans[option.span].strand].role

    def profiles(self, option: Option) -> list[Profile]:
        span = self.spans[option.span]
        return [span.lines[line] for line in option.lines]

    def phrase(self, option: Option) -> int:
        return self.spans[option.span].phrase

    def dynamic(self, option: Option) -> str:
        span = self.spans[option.span]
        return self.plan[span.phrase].at(span.start).dynamic

    def held(self, option: Option) -> int:
        """Twelfths of a player or section that have nothing else to do: all where only some are asked for, since the others
        listen; half of a pianist for what one hand has. Of a pianist alone least for what the sketch has where it has it, since
        its hands are known to have all of that at once, and all for what is added or moved there."""
        return self._held[option.index]

    @cached_property
    def _held(self) -> list[int]:
        hand = self.tables.rule("playability")["hand"]

        def one(option: Option) -> int:
            if set(SOME) & set(option.techniques):
                return WHOLE
            keys = self.instrument(option).kind == "keys" and option.share == WHOLE
            if keys and option.span in self._in_hands:
                if option.octave or not self.is_assigned(self.spans[option.span].strand):
                    return WHOLE
                if all(n.id in n.sources for profile in self.profiles(option) for n in profile.notes):
                    return 1
            return WHOLE // 2 if keys and one_hand(self.profiles(option), hand) else option.share

        return [one(option) for option in self.options]

    @cached_property
    def _in_hands(self) -> frozenset[int]:
        """Spans of a line-up of one player in which two hands can have all that the sketch has at once."""
        if len(self.players) > 1:
            return frozenset()
        strands = [strand for strand in self.strands if strand.layer == "assigned"]
        own = (note for strand in strands for line in strand.lines if not line.reduced for note in line.notes)
        notes = sorted((note for note in own if note.id in note.sources), key=lambda note: note.onset)
        hand = self.tables.rule("playability")["hand"]
        beyond = {
            tick
            for tick in {note.onset for note in notes}
            if not two_hands(sorted({note.pitch.midi for note in notes if note.onset <= tick < note.end}), hand)
        }
        return frozenset(s.index for s in self.spans if not any(s.start <= tick < s.end for tick in beyond))

    def busy(self, option: Option) -> int:
        """Quarter-bars in which the option really sounds, at least 1."""
        span = self.spans[option.span]
        ms = max(1, self.span_ms[option.span])
        sounding = max(profile.sounding for profile in self.profiles(option))
        return max(1, min(span.length, -(-span.length * sounding // ms)))

    def mean_pitch(self, option: Option) -> int:
        """Mean sounding pitch of an option, MIDI."""
        profiles = self.profiles(option)
        return sum(p.mean for p in profiles) // len(profiles) + 12 * option.octave

    @cached_property
    def by_span(self) -> list[list[Option]]:
        """span index -> its options"""
        found: list[list[Option]] = [[] for _ in self.spans]
        for option in self.options:
            found[option.span].append(option)
        return found

    @cached_property
    def by_line(self) -> dict[tuple[int, int], list[Option]]:
        """(span, line) -> options that play it"""
        found: dict[tuple[int, int], list[Option]] = defaultdict(list)
        for option in self.options:
            for line in option.lines:
                found[option.span, line].append(option)
        return found

    @cached_property
    def by_way(self) -> dict[tuple[str, str, int, int, str, tuple[str, ...]], list[Option]]:
        """(player, strand, octave, share, instrument, techniques), by their names -> options"""
        found: dict[tuple[str, str, int, int, str, tuple[str, ...]], list[Option]] = defaultdict(list)
        for o in self.options:
            strand = self.strands[self.spans[o.span].strand]
            found[self.players[o.player].name, strand.id, o.octave, o.share, o.instrument, o.techniques].append(o)
        return found

    @cached_property
    def by_player(self) -> list[list[Option]]:
        """player index -> its options"""
        found: list[list[Option]] = [[] for _ in self.players]
        for option in self.options:
            found[option.player].append(option)
        return found

    @cached_property
    def strand_spans(self) -> list[list[Span]]:
        """strand index -> its spans in time order"""
        found: list[list[Span]] = [[] for _ in self.strands]
        for span in self.spans:
            found[span.strand].append(span)
        return found

    def sounding(self, span: int, line: int, octave: int | None = None) -> Literal | None:
        """Someone plays the line (in that octave); None where nobody could."""
        options = [o.index for o in self.by_line.get((span, line), ()) if octave is None or o.octave == octave]
        return self.groups.any(options) if options else None

    def is_assigned(self, strand: int) -> bool:
        """The strand comes from the sketch."""
        return self.strands[strand].layer == "assigned"

    @cached_property
    def _chord_starts(self) -> list[int]:
        return [chord.start for chord in self.chords]

    def chord_at(self, tick: int) -> Chord | None:
        """The chord in force at `tick`, or None."""
        index = bisect_right(self._chord_starts, tick) - 1
        return self.chords[index] if index >= 0 and tick < self.chords[index].end else None

    def place(self, span: Span) -> str:
        """Readable bars of a span."""
        first = self.bar_name.get(span.start, "?")
        return f"bar {first}"


def notes_in(notes: Sequence[MaterialNote], start: int, end: int) -> list[MaterialNote]:
    """Notes whose attack lies in [start, end), in time order."""
    return [note for note in notes if start <= note.onset < end]
