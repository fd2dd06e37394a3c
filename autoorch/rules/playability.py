"""What one player can do: one thing at a time (a keyboard two), speed, leaps, held notes, breath, rest, divisi, double stops."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from autoorch.instruments import Instrument
from autoorch.problem.data import WHOLE, Option, ProblemData
from autoorch.problem.divided import is_shared
from autoorch.problem.feasible import STROKES, pedals
from autoorch.problem.profile import Profile
from autoorch.problem.terms import Cost, Limit, both, over
from autoorch.rules.unary import alone

NAME = "playability"


def limits(data: ProblemData) -> Iterator[Limit]:
    """A player has one whole share to give at any moment; said of each phrase with those before it, so that phrases decided in
    turn leave what is possible."""
    for number, options in enumerate(data.by_player):
        for clique in cliques([(*piece, option) for option in options for piece in taken(data, option)]):
            name = f"one thing at a time/{data.players[number].name}/{data.place(data.spans[clique[0].span])}"
            for phrase in sorted({data.phrase(option) for option in clique}):
                terms = tuple((option.index, data.held(option)) for option in clique if data.phrase(option) <= phrase)
                if len(terms) > 1:
                    yield Limit(name, phrase, terms, high=WHOLE)


def taken(data: ProblemData, option: Option) -> list[tuple[int, int]]:
    """(onset, end) of each stretch in which an option takes its player up: from first to last, but for a hand on keys, which
    goes elsewhere between its notes (common practice: a left hand has bass and off-beats)."""
    if data.instrument(option).kind != "keys":
        return [(option.onset, option.end)]
    notes = sorted((n.onset, max(n.end, n.onset + 1)) for profile in data.profiles(option) for n in profile.notes)
    found = [notes[0]]
    for onset, end in notes[1:]:
        if onset <= found[-1][1]:
            found[-1] = found[-1][0], max(end, found[-1][1])
        else:
            found.append((onset, end))
    return found


def cliques(pieces: Sequence[tuple[int, int, Option]]) -> Iterator[list[Option]]:
    """Largest sets of options of which pieces (onset, end, option) sound at one moment, each set once."""
    order = sorted(pieces, key=lambda piece: (piece[0], piece[2].index))
    active: list[tuple[int, int, Option]] = []
    known: set[tuple[int, ...]] = set()
    position = 0
    for end in sorted({piece[1] for piece in pieces}):
        grown = False
        while position < len(order) and order[position][0] < end:
            active.append(order[position])
            position += 1
            grown = True
        key = tuple(piece[2].index for piece in active)
        if grown and len(active) > 1 and key not in known:
            known.add(key)
            yield [piece[2] for piece in active]
        active = [piece for piece in active if piece[1] > end]


def costs(data: ProblemData) -> Iterator[Cost]:
    """Effort of each option, and phrases on end without a rest."""
    table = data.tables.rule(NAME)
    weights = table["weights"]
    known: dict[tuple[str, int, tuple[int, ...]], int] = {}
    for option in data.options:
        instrument = data.instrument(option)
        key = (instrument.id, option.span, option.lines)
        if key not in known:
            known[key] = sum(effort(table, instrument, p) for p in data.profiles(option))
        weight = known[key]
        section = data.players[option.player].size > 1
        if section and is_shared(option):
            weight += weights["divided"] * data.busy(option)
        elif len(option.lines) > 1 and instrument.kind == "bowed":
            weight += weights["double_stop"] * data.busy(option)
        if weight:
            yield alone(NAME, data, option, weight, "hard to play")
    yield from _strides(data, weights["stride"])
    yield from _joints(data, table)
    yield from _rests(data, table)


def _strides(data: ProblemData, weight: int) -> Iterator[Cost]:
    """In a small line-up one player has bass and off-beats of one bar in turn, as a pianist's left hand; a section can divide."""
    if len(data.players) > data.tables.rule("texture")["small"]:
        return
    for number, player in enumerate(data.players):
        if player.instrument.kind not in ("wind", "bowed") or player.size > 1:
            continue
        bars: dict[int, dict[str, list[Option]]] = {}
        for option in data.by_player[number]:
            strand = data.strands[data.spans[option.span].strand]
            if strand.layer == "assigned" and strand.role in ("bass", "rhythm"):
                first, last = (bisect_right(data.bars, tick) for tick in (option.onset, option.end - 1))
                for bar in range(first, last + 1):
                    bars.setdefault(bar, {}).setdefault(strand.role, []).append(option)
        for own in bars.values():
            if len(own) > 1:
                ends = [data.groups.any(option.index for option in options) for options in own.values()]
                phrase = max(data.phrase(option) for options in own.values() for option in options)
                yield both(NAME, phrase, weight, ends[0], ends[1], "bass and off-beats for one player")


def _joints(data: ProblemData, table: Mapping[str, Any]) -> Iterator[Cost]:
    """One player over two takes that touch, with a leap between them wider than it can make at a stroke."""
    weight: int = table["weights"]["stroke"]
    for number, player in enumerate(data.players):
        if player.instrument.id == "harp":
            yield from _pedals(data, data.by_player[number], weight)
        if player.instrument.kind not in STROKES:
            continue
        widest = table["stroke"]["widest"] * player.instrument.fluency.leap
        starting: dict[int, list[tuple[Option, int]]] = {}
        for option in data.by_player[number]:
            first = data.profiles(option)[0].notes[0]
            starting.setdefault(option.onset, []).append((option, first.pitch.midi + 12 * option.octave))
        for one in data.by_player[number]:
            last = data.profiles(one)[0].notes[-1].pitch.midi + 12 * one.octave
            for two, pitch in starting.get(one.end, ()):
                if abs(pitch - last) > widest:
                    phrase = max(data.phrase(one), data.phrase(two))
                    yield both(NAME, phrase, weight, one.index, two.index, "a leap nobody makes at a stroke")


def _pedals(data: ProblemData, options: list[Option], weight: int) -> Iterator[Cost]:
    """Takes less than a crotchet apart that want the same pedal in two positions."""
    settings = {option.index: pedals(data.profiles(option)) or {} for option in options}
    for one in options:
        for two in options:
            if 0 <= two.onset - one.end < data.ticks and data.phrase(two) - data.phrase(one) <= 1:
                first, second = settings[one.index], settings[two.index]
                if any(second.get(letter, alter) != alter for letter, alter in first.items()):
                    phrase = max(data.phrase(one), data.phrase(two))
                    yield both(NAME, phrase, weight, one.index, two.index, "no time to move the pedals")


def effort(table: Mapping[str, Any], instrument: Instrument, profile: Profile) -> int:
    """Cost of one line over one span: how far it goes beyond what is comfortable."""
    weights, limits_ = table["weights"], instrument.fluency
    worst: int = weights["worst"]
    cost = 0
    for repeated, rate, easy, weight in (
        (True, profile.repeated, limits_.repeat_per_s[0], weights["repeat"]),
        (False, profile.moving, limits_.moving_per_s[0], weights["move"]),
    ):
        if easy and rate > 100 * easy:
            cost += round(weight * 10 * hurry(profile, easy, repeated, table["speed"]["intervals"]))
    cost += min(worst, int(weights["leap"]) * sum(1 for leap in profile.leaps if leap > limits_.leap))
    for ms, pair, weight in (
        (profile.held, limits_.held_s, weights["held"]),
        (profile.stretch, limits_.stretch_s, weights["stretch"]),
    ):
        if pair is not None and ms > 1000 * pair[0]:
            cost += min(worst, round(weight * 2 * (ms / (1000 * pair[0]) - 1)))
    return cost


def hurry(profile: Profile, easy: float, repeated: bool, steps: int) -> float:
    """Seconds in which `steps` intervals on end are quicker than `easy` notes a second, times the share by which they are.

    Args:
        repeated: of notes on one pitch; otherwise of notes that all move.
    """
    notes = [note for note in profile.notes if note.duration]
    second = 1000 * sum(note.duration for note in notes) / max(1, profile.sounding)
    fastest = [0.0] * len(notes)
    for first in range(len(notes) - steps):
        run = notes[first : first + steps + 1]
        same = [a.pitch.midi == b.pitch.midi for a, b in pairwise(run)]
        if run[-1].onset > run[0].onset and (all(same) if repeated else not any(same)):
            rate = steps * second / (run[-1].onset - run[0].onset)
            fastest[first : first + steps] = (max(rate, known) for known in fastest[first : first + steps])
    lasts = [(b.onset - a.onset) / second for a, b in pairwise(notes)]
    return sum(max(0.0, rate / easy - 1) * last for rate, last in zip(fastest, lasts, strict=False))


def _rests(data: ProblemData, table: Mapping[str, Any]) -> Iterator[Cost]:
    """Winds: in each shortest run of phrases longer than a comfortable stretch, one phrase is free or has a rest in it; phrases
    that are long by themselves count by halves."""
    most = table["breathing_phrases"]
    for number, player in enumerate(data.players):
        stretch = player.instrument.fluency.stretch_s
        if stretch is None:
            continue
        limit = round(1000 * stretch[0])
        full: dict[tuple[int, int], list[int]] = {}
        pieces = _pieces(data, limit)
        for option in data.by_player[number]:
            if not _rested(data, option):
                for piece in pieces[data.phrase(option)]:
                    if option.onset < piece.end and option.end > piece.start:
                        full.setdefault((piece.start, piece.end), []).append(option.index)
        line = [piece for phrase in pieces for piece in phrase]
        for first in range(len(line)):
            total = 0
            for last in range(first, min(len(line), first + most)):
                total += line[last].ms
                if total > limit:
                    break
            else:
                continue
            run = [(piece.start, piece.end) for piece in line[first : last + 1]]
            if first == last or any(key not in full for key in run):
                continue
            terms = tuple((data.groups.any(full[key]), 1) for key in run)
            phrase = line[last].phrase
            share = min(1.0, (total / limit - 1) / table["breathless"])
            weight = max(1, round(share * table["weights"]["no_rest"]))
            yield over(NAME, phrase, weight, terms, last - first, f"no rest for {player.name}")


def _rested(data: ProblemData, option: Option) -> bool:
    """A rest long enough to breathe lies in the option's span: before its first note, between two, or after the last."""
    span = data.spans[option.span]
    waits = (option.onset - span.start) * data.span_ms[option.span] / max(1, span.end - span.start)
    return waits >= 1000 * data.tables.rule(NAME)["breath"]["gap_s"] or any(p.rests for p in data.profiles(option))


@dataclass(frozen=True, slots=True)
class _Piece:
    """A phrase, or half of a long one: ticks and milliseconds."""

    phrase: int
    start: int
    end: int
    ms: int


def _pieces(data: ProblemData, limit: int) -> list[list[_Piece]]:
    """For each phrase itself, or its two parts around the cell's edge nearest to its middle where it is longer than `limit`."""
    inside: list[set[int]] = [set() for _ in data.plan]
    for cell in data.cells:
        inside[cell.phrase].add(cell.start)
    found = []
    for number, (phrase, ms) in enumerate(zip(data.plan, data.phrase_ms, strict=True)):
        edges = sorted(inside[number] - {phrase.start})
        if ms <= limit or not edges:
            found.append([_Piece(number, phrase.start, phrase.end, ms)])
            continue
        cut = min(edges, key=lambda tick: abs(2 * tick - phrase.start - phrase.end))
        first = ms * (cut - phrase.start) // (phrase.end - phrase.start)
        found.append([_Piece(number, phrase.start, cut, first), _Piece(number, cut, phrase.end, ms - first)])
    return found
