"""Other ways to score the same passage: random playable ones, and near misses of a given one, each with one thing changed.

A take is what one player does with one strand through one phrase; whatever is changed is changed for whole takes.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from autoorch.problem.data import WHOLE, ProblemData
from autoorch.problem.terms import Limit

SOFT = ("ppp", "pp", "p", "mp")
TRIES = 40
"""Attempts at a random scoring that keeps all the limits that the passage can keep."""


class Key(NamedTuple):
    """What makes options one take."""

    player: int
    strand: int
    phrase: int
    lines: tuple[int, ...]
    octave: int
    share: int = WHOLE
    techniques: tuple[str, ...] = ()
    instrument: str = ""


@dataclass(frozen=True, slots=True)
class Take:
    """Options of one player with one strand, its lines and octave, through one phrase."""

    key: Key
    options: tuple[int, ...]


class Takes:
    """All takes of a problem, and what stands in their way."""

    def __init__(self, data: ProblemData, limits: Collection[Limit]) -> None:
        self.data = data
        self.all = tuple(self.held(range(len(data.options))))
        self.of = {take.key: take for take in self.all}
        self.limits = tuple(limits)
        self._upper: dict[int, list[Limit]] = defaultdict(list)
        for limit in limits:
            if limit.high is not None:
                for index in {o for literal, _ in limit.terms for o in data.groups.options(literal)}:
                    self._upper[index].append(limit)

    def held(self, chosen: Collection[int]) -> list[Take]:
        """The takes of a scoring, each with those of its options that are chosen."""
        found: dict[Key, list[int]] = defaultdict(list)
        for index in sorted(chosen):
            o = self.data.options[index]
            span = self.data.spans[o.span]
            key = Key(o.player, span.strand, span.phrase, o.lines, o.octave, o.share, o.techniques, o.instrument)
            found[key].append(index)
        return [Take(key, tuple(options)) for key, options in found.items()]

    def fits(self, chosen: set[int], take: Take) -> bool:
        """The take breaks no upper limit beside what is chosen."""
        after = chosen | set(take.options)
        groups = self.data.groups
        for option in take.options:
            for limit in self._upper[option]:
                assert limit.high is not None
                if sum(coef for literal, coef in limit.terms if groups.holds(literal, after)) > limit.high:
                    return False
        return True

    def broken(self, chosen: Collection[int]) -> list[Limit]:
        """Lower limits that do not hold."""
        groups = self.data.groups
        return [
            limit
            for limit in self.limits
            if limit.low is not None
            and sum(coef for literal, coef in limit.terms if groups.holds(literal, chosen)) < limit.low
        ]


def scorings(takes: Takes, like: Collection[int], count: int, seed: int) -> Iterator[frozenset[int]]:
    """Random playable scorings with as many takes as `like`: what must be heard first, then whatever fits."""
    draw = random.Random(seed)
    size = len(takes.held(like))
    containing: dict[int, list[Take]] = defaultdict(list)
    for take in takes.all:
        for option in take.options:
            containing[option].append(take)
    for _ in range(count):
        best: tuple[int, frozenset[int]] | None = None
        for _ in range(TRIES):
            chosen = _random(takes, containing, size, draw)
            missing = len(takes.broken(chosen))
            if best is None or missing < best[0]:
                best = missing, chosen
            if not missing:
                break
        assert best is not None
        yield best[1]


def _random(takes: Takes, containing: dict[int, list[Take]], size: int, draw: random.Random) -> frozenset[int]:
    chosen: set[int] = set()
    number = 0
    groups = takes.data.groups
    needed = [limit for limit in takes.limits if limit.low is not None and limit.low > 0]
    draw.shuffle(needed)
    for limit in needed:
        if sum(coef for literal, coef in limit.terms if groups.holds(literal, chosen)) >= (limit.low or 0):
            continue
        options = [take for literal, _ in limit.terms for o in groups.options(literal) for take in containing[o]]
        draw.shuffle(options)
        fitting = next((take for take in options if takes.fits(chosen, take)), None)
        if fitting is not None:
            chosen |= set(fitting.options)
            number += 1
    rest = draw.sample(takes.all, len(takes.all))
    for take in rest:
        if number >= size:
            break
        if not chosen & set(take.options) and takes.fits(chosen, take):
            chosen |= set(take.options)
            number += 1
    return frozenset(chosen)


def near_misses(takes: Takes, chosen: frozenset[int], each: int, seed: int) -> Iterator[tuple[str, frozenset[int]]]:
    """(kind, scoring): at most `each` of a kind; none of a kind that the scoring gives no occasion for."""
    draw = random.Random(seed)
    held = takes.held(chosen)
    for kind, make in (
        ("another player", _other_player),
        ("an octave moved", _other_octave),
        ("a solo thickened", _thickened),
        ("quiet players filled in", _filled),
        ("entries at phrase starts", _early),
        ("everybody doubles", _everybody),
    ):
        found: list[frozenset[int]] = []
        for take in draw.sample(held, len(held)):
            if len(found) >= each:
                break
            other = make(takes, chosen, take, draw)
            if other is not None and other != chosen and other not in found:
                found.append(other)
        yield from ((kind, other) for other in found)


def _same(takes: Takes, take: Take, player: int, octave: int) -> Take | None:
    """What another player, or another octave, would make of the same spans; None where that is not all there."""
    key = take.key._replace(player=player, octave=octave, instrument="")
    other = takes.of.get(key)
    if other is None:
        return None
    spans = {takes.data.options[index].span for index in take.options}
    options = tuple(index for index in other.options if takes.data.options[index].span in spans)
    if len(options) < len(spans):
        return None
    return Take(key, options)


def _swapped(takes: Takes, chosen: frozenset[int], take: Take, other: Take | None) -> frozenset[int] | None:
    rest = set(chosen) - set(take.options)
    if other is None or rest & set(other.options) or not takes.fits(rest, other):
        return None
    return frozenset(rest | set(other.options))


def _other_player(takes: Takes, chosen: frozenset[int], take: Take, draw: random.Random) -> frozenset[int] | None:
    """One line is given to another player, of another instrument, who rests there."""
    players = takes.data.players
    others = [k for k, p in enumerate(players) if p.instrument is not players[take.key.player].instrument]
    for player in draw.sample(others, len(others)):
        found = _swapped(takes, chosen, take, _same(takes, take, player, take.key.octave))
        if found is not None:
            return found
    return None


def _other_octave(takes: Takes, chosen: frozenset[int], take: Take, draw: random.Random) -> frozenset[int] | None:
    """One player's line is moved by an octave."""
    for step in draw.sample((-1, 1), 2):
        found = _swapped(takes, chosen, take, _same(takes, take, take.key.player, take.key.octave + step))
        if found is not None:
            return found
    return None


def _resting(takes: Takes, chosen: frozenset[int], phrase: int) -> list[int]:
    data = takes.data
    busy = {data.options[index].player for index in chosen if data.phrase(data.options[index]) == phrase}
    return [number for number in range(len(data.players)) if number not in busy]


def _thickened(takes: Takes, chosen: frozenset[int], take: Take, draw: random.Random) -> frozenset[int] | None:
    """A tune that one player has alone is doubled in unison by another."""
    data = takes.data
    if data.strands[take.key.strand].role != "melody":
        return None
    spans = {data.options[index].span for index in take.options}
    if any(data.options[index].span in spans and index not in take.options for index in chosen):
        return None
    idle = _resting(takes, chosen, take.key.phrase)
    for player in draw.sample(idle, len(idle)):
        other = _same(takes, take, player, take.key.octave)
        if other is not None and takes.fits(set(chosen), other):
            return chosen | set(other.options)
    return None


def _filled(takes: Takes, chosen: frozenset[int], take: Take, draw: random.Random) -> frozenset[int] | None:
    """In a soft phrase every player who rests gets an accompanying line of it."""
    data = takes.data
    if data.plan[take.key.phrase].dynamic not in SOFT:
        return None
    after = set(chosen)
    accompanying = [
        other
        for other in takes.all
        if other.key.phrase == take.key.phrase
        and other.key == Key(*other.key[:5])
        and data.strands[other.key.strand].role not in ("melody", "bass")
    ]
    accompanying.sort(key=lambda other: abs(other.key.octave))
    for player in _resting(takes, chosen, take.key.phrase):
        lines = (other for other in accompanying if other.key.player == player)
        fitting = next((other for other in lines if takes.fits(after, other)), None)
        if fitting is not None:
            after |= set(fitting.options)
    return frozenset(after)


def _early(takes: Takes, chosen: frozenset[int], take: Take, draw: random.Random) -> frozenset[int] | None:
    """An entry inside a phrase is brought forward to its start."""
    whole = takes.of[take.key]
    first = min(takes.data.options[index].onset for index in take.options)
    earlier = tuple(index for index in whole.options if takes.data.options[index].end <= first)
    if not earlier:
        return None
    return chosen | set(earlier) if takes.fits(set(chosen), Take(take.key, earlier)) else None


def _everybody(takes: Takes, chosen: frozenset[int], take: Take, draw: random.Random) -> frozenset[int] | None:
    """Everybody who rests in a phrase doubles something that sounds in it, in the nearest octave he has."""
    after = set(chosen)
    here = [other.key for other in takes.held(chosen) if other.key.phrase == take.key.phrase]
    lines = sorted({(key.strand, key.lines) for key in here if len(key.lines) == 1})
    for player in _resting(takes, chosen, take.key.phrase):
        others = [
            takes.of[key]
            for strand, line in lines
            for octave in (0, 1, -1)
            if (key := Key(player, strand, take.key.phrase, line, octave)) in takes.of
        ]
        fitting = next((other for other in draw.sample(others, len(others)) if takes.fits(after, other)), None)
        if fitting is not None:
            after |= set(fitting.options)
    return frozenset(after)
