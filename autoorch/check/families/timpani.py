"""Timpani: one drum a note, each drum in its own span, time to retune, two sticks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations
from typing import Any

from autoorch.check.find import Fault, state
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding


@dataclass(frozen=True, slots=True)
class _Drums:
    """How the drums may stand: tuning of each (None: free until first struck), last stroke, cost so far and faults."""

    tuning: tuple[int | None, ...]
    struck: tuple[float, ...]
    cost: tuple[int, int, int]
    faults: tuple[tuple[int, str], ...] = ()


def drums(score: Score, limits: Limits) -> Iterator[Finding]:
    """A beam search over which drum plays what; what even the best tuning plan can't do is reported."""
    table = limits.of("timpani")
    for part in score.parts:
        if part.kind != "timpani" or part.instrument is None or not part.notes:
            continue
        spans = part.instrument.drums or (part.instrument.extreme,) * 4
        beam = [_Drums((None,) * len(spans), (float("-inf"),) * len(spans), (0, 0, 0))]
        for group in part.onsets:
            beam = _advance(beam, group, spans, part, table)
        best = beam[0]
        faults = [_fault(part, tick, kind, table) for tick, kind in best.faults]
        yield from state(score, "timpani", table["source"], faults)


def _advance(
    beam: Sequence[_Drums],
    group: Sequence[Note],
    spans: Sequence[tuple[int, int]],
    part: Part,
    table: Mapping[str, Any],
) -> list[_Drums]:
    now, tick = group[0].at, group[0].start
    pitches = sorted({note.pitch for note in group if note.pitch >= 0})
    reached: dict[tuple[Any, ...], _Drums] = {}
    for state_ in beam:
        for new in _choices(state_, pitches[: len(spans)], now, tick, spans, table):
            if len(pitches) > table["sticks"]:
                new = _worse(new, (1, 0, 0), tick, f"sticks {len(pitches)}")
            key = (new.tuning, new.struck)
            if key not in reached or new.cost < reached[key].cost:
                reached[key] = new
    return sorted(reached.values(), key=lambda d: (d.cost, str(d.tuning)))[: table["beam"]]


def _choices(
    before: _Drums,
    pitches: Sequence[int],
    now: float,
    tick: int,
    spans: Sequence[tuple[int, int]],
    table: Mapping[str, Any],
) -> Iterator[_Drums]:
    found = False
    for drums_ in permutations(range(len(spans)), len(pitches)):
        if any(not spans[d][0] <= p <= spans[d][1] for d, p in zip(drums_, pitches, strict=True)):
            continue
        found = True
        new = before
        for drum, pitch in zip(drums_, pitches, strict=True):
            tuned, gap = before.tuning[drum], now - before.struck[drum]
            if tuned is not None and tuned != pitch:
                kind = (1, 0, 1) if gap < table["retune_absurd"] else (0, 1, 1) if gap < table["retune"] else (0, 0, 1)
                word = ("!" if kind[0] else "?") + f"{pitch} {gap:.1f}" if kind[0] or kind[1] else ""
                new = _worse(new, kind, tick, word)
            tuning, struck = list(new.tuning), list(new.struck)
            tuning[drum], struck[drum] = pitch, now
            new = _Drums(tuple(tuning), tuple(struck), new.cost, new.faults)
        yield new
    if not found:
        # notes outside all drums are the range's affair; notes that fit no set of different drums are ours
        fit = all(any(low <= p <= high for low, high in spans) for p in pitches)
        yield _worse(before, (1, 0, 0), tick, f"drums {len(pitches)}") if fit and len(pitches) > 1 else before


def _worse(drums_: _Drums, kind: tuple[int, int, int], tick: int, word: str) -> _Drums:
    cost = (drums_.cost[0] + kind[0], drums_.cost[1] + kind[1], drums_.cost[2] + kind[2])
    faults = (*drums_.faults, (tick, word)) if word else drums_.faults
    return _Drums(drums_.tuning, drums_.struck, cost, faults)


def _fault(part: Part, tick: int, kind: str, table: Mapping[str, Any]) -> Fault:
    word, _, figure = kind.partition(" ")
    if word == "sticks":
        return Fault(
            part, tick, "unplayable", figure, f"{table['sticks']:g}", f"{figure} notes at once for two sticks", 3
        )
    if word == "drums":
        return Fault(
            part, tick, "unplayable", figure, "1 a drum", f"{figure} notes at once that lie on the same drum", 3
        )
    limit = table["retune_absurd"] if word[0] == "!" else table["retune"]
    severity = "unplayable" if word[0] == "!" else "risky"
    message = f"a drum must be retuned within {figure} s"
    return Fault(part, tick, severity, f"{figure} s", f"{limit:g} s", message, 1)


RULES = (drums,)
