"""From material and line-up to the problem: spans, cells, and every option that a player really has."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from autoorch.brief import Brief
from autoorch.errors import NoDraft
from autoorch.instruments import Instrument
from autoorch.layers.model import Material, MaterialStrand
from autoorch.lineup import Lineup, Player
from autoorch.problem.between import FILLING, Between
from autoorch.problem.data import WHOLE, Option, ProblemData, Span, Wish
from autoorch.problem.divided import HALF, Take, divided_takes
from autoorch.problem.draft import Choice
from autoorch.problem.feasible import can_take, haste
from autoorch.problem.hands import Hand, hands_of
from autoorch.problem.kept import kept_options
from autoorch.problem.manners import Ways
from autoorch.problem.spans import FARTHEST, make_cells, make_spans
from autoorch.problem.wishes import wishes
from autoorch.roles.model import ROLES, Reading
from autoorch.sketch.model import Sketch
from autoorch.sketch.tempo import TempoMap
from autoorch.tables import Tables

ENOUGH = 5
"""Players to choose from for each line, from which nobody outside the plan is considered for chords and figures."""


def build_problem(
    sketch: Sketch,
    reading: Reading,
    material: Material,
    lineup: Lineup,
    tables: Tables,
    brief: Brief | None = None,
    kept: Sequence[Choice] = (),
) -> ProblemData:
    """Spans and options of the whole cue; choices of other drafts that are `kept` are options in any case.

    Raises:
        NoDraft: where a melody or bass line has no player at all in some span; names bar and strand.
    """
    tempo = TempoMap(sketch, reading.tempo)

    def quarter_bar(tick: int) -> int:
        beats, unit = sketch.bar_at(tick).metre
        return max(1, beats * sketch.ticks // unit)

    spans = make_spans(
        material,
        lineup,
        tempo.seconds,
        quarter_bar,
        lambda tick: 4 * quarter_bar(tick) * int(tables.rule("continuity")["shortest_bars"]),
        quarter_bar if len(lineup.players) <= tables.rule("texture")["small"] else None,
    )
    cells = make_cells(material, spans, quarter_bar)
    required = _required(material, spans)
    options: list[Option] = []
    losses: list[str] = []
    ways = Ways(material, tables)
    between = Between(material)
    asked = wishes(brief or Brief(), sketch, material.plan, lineup, tables)
    for span in spans:
        strand = material.strands[span.strand]
        hands = hands_of(span, strand, material.plan[span.phrase], lineup, asked, tables)
        shared = {
            number: parts
            for number in {hand.player for hand in hands}
            if (parts := ways.parts(strand, span.start, lineup.players[number]))[1] > 1
        }
        found = _span_options(span, strand, hands, lineup, tables, required, shared)
        if strand.layer == "assigned" and strand.role in FILLING and not _octave_asked(asked, span, strand):
            found = _not_beyond(span, found, between)
        for line in span.lines:
            if any(line in entry.lines for entry in found):
                continue
            bar = sketch.bar_at(span.lines[line].onset).number
            if (span.index, line) in required:
                raise NoDraft(
                    f"bar {bar}: nobody in {lineup.name} can play the {strand.role} (strand {strand.id}, "
                    f"{span.lines[line].notes[0].pitch}); add a player or edit the reading"
                )
            if strand.layer == "assigned" and not strand.lines[line].reduced:
                losses.append(f"bar {bar}: {strand.role} line {strand.lines[line].id} fits no player")
        first = len(options)
        for one in found:
            profiles = [span.lines[k] for k in one.lines]
            onset, end = min(p.onset for p in profiles), max(p.end for p in profiles)
            player = replace(lineup.players[one.player], instrument=one.held)
            other = "" if one.held is lineup.players[one.player].instrument else one.held.id
            for techniques in ways.of(strand, span.start, player, profiles, one.octave):
                share = ways.share(techniques, player, one.share)
                if share is not None:
                    options.append(
                        Option(
                            len(options), one.player, span.index, one.lines, one.octave, share, onset, end, techniques,
                            other,
                        )
                    )  # fmt: skip
        more = kept_options(span, strand, lineup, options[first:], kept)
        options += [replace(option, index=number) for number, option in enumerate(more, len(options))]
    ms = tuple(round(1000 * (tempo.seconds(p.end) - tempo.seconds(p.start))) for p in material.plan)
    return ProblemData(
        tables=tables,
        lineup=lineup,
        material=material,
        chords=reading.chords,
        ticks=sketch.ticks,
        strands=material.strands,
        plan=material.plan,
        spans=tuple(spans),
        cells=tuple(cells),
        options=tuple(options),
        phrase_ms=ms,
        span_ms=tuple(round(1000 * (tempo.seconds(s.end) - tempo.seconds(s.start))) for s in spans),
        bars=tuple(bar.onset for bar in sketch.bars),
        bar_name={
            tick: sketch.bar_at(tick).number for tick in {bar.onset for bar in sketch.bars} | {s.start for s in spans}
        },
        required=frozenset(required),
        losses=tuple(losses),
        wishes=asked,
        leading=(brief or Brief()).leading,
    )


def _required(material: Material, spans: Sequence[Span]) -> set[tuple[int, int]]:
    """(span, line) of every melody line of the sketch and of the bass."""
    found = set()
    for span in spans:
        strand = material.strands[span.strand]
        if strand.layer != "assigned":
            continue
        for line in span.lines:
            if not strand.lines[line].reduced and (strand.role == "melody" or (strand.role == "bass" and line == 0)):
                found.add((span.index, line))
    return found


def _octave_asked(asked: Sequence[Wish], span: Span, strand: MaterialStrand) -> bool:
    """A direction says in which octave."""
    return any(
        wish.octave is not None and wish.start < span.end and wish.end > span.start
        for wish in asked
        if not wish.roles or strand.role in wish.roles
    )


@dataclass(frozen=True, slots=True)
class _Found:
    """A way to take lines of a span: who, holding what, how many octaves away, with what share of a section."""

    player: int
    held: Instrument
    lines: tuple[int, ...]
    octave: int
    share: int


def _span_options(
    span: Span,
    strand: MaterialStrand,
    hands: Sequence[Hand],
    lineup: Lineup,
    tables: Tables,
    required: set[tuple[int, int]],
    shared: Mapping[int, tuple[int, int]],
) -> list[_Found]:
    """The ways to take one span's lines; widened step by step for lines that nobody could take. `shared`: players who are to
    be divided, among how many lines at least and at most.

    First come those to whom the plan gives it, wherever they are enough for each line.
    """
    idiom = tables.rule("idiom")
    octaves: Mapping[str, Any] = tables.rule("doubling")["octaves"]
    usual = tuple(octaves["added" if strand.layer != "assigned" else strand.role])
    column = ROLES.index(strand.role)
    frames = tables.rule("limits")["strings"]["span"]
    found: list[_Found] = []
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
        fresh: list[_Found] = []
        for hand in hands:
            held = hand.held
            if planned and not hand.planned:
                continue
            meant = hand.named or bool(strand.families)
            if strict and not meant and idiom["roles"][held.id][column] >= idiom["never"]:
                continue
            player = replace(lineup.players[hand.player], instrument=held)
            frame = frames.get(held.id, frames["cello"])[0]
            for takes in _takes(player, strand, span, open_lines, shared.get(hand.player)):
                own = [
                    _Found(hand.player, held, lines, k, share)
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
            fresh = [e for a, e in zip(asked, fresh, strict=True) if all(a <= 1.1 * least[k] for k in e.lines)]
        if shifts is not usual and fresh:
            nearest = {
                line: min(abs(e.octave) for e in fresh if line in e.lines) for entry in fresh for line in entry.lines
            }
            fresh = [e for e in fresh if all(abs(e.octave) == nearest[line] for line in e.lines)]
        found += fresh
        open_lines = [
            line
            for line in span.lines
            if not any(line in entry.lines for entry in found)
            and ((span.index, line) in required or strand.layer == "assigned")
        ]
    return found


def _not_beyond(span: Span, found: Sequence[_Found], between: Between) -> list[_Found]:
    """The ways that stay between bass and tune, and all of those of a line that few players could have so."""
    inside = [entry for entry in found if not between.beyond(span, entry.lines, entry.octave)]
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
