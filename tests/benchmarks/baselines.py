"""Two plain ways to score a sketch, to measure the solver against: a fixed mapping and a greedy pass over the same rules."""

from __future__ import annotations

from collections import defaultdict

from autoorch.problem.data import WHOLE, Option, ProblemData
from autoorch.problem.terms import Cost, Limit
from autoorch.rules import price
from autoorch.solver.statements import Statements

FIXED = {
    "melody": ("violin 1", "flute 1", "oboe 1", "trumpet_bb 1"),
    "bass": ("cello 1", "double_bass 1", "bassoon 1", "tuba 1"),
    "middle": ("violin 2", "viola 1", "clarinet_bb 1", "horn 1", "clarinet_bb 2", "horn 2", "bassoon 2", "trombone 1"),
}
"""Who takes what in the fixed mapping: instrument and seat; the first two that the line-up has for melody and bass."""


def _seats(data: ProblemData) -> dict[str, int]:
    """ "violin 2" -> player index"""
    count: dict[str, int] = defaultdict(int)
    found = {}
    for index, player in enumerate(data.players):
        count[player.instrument.id] += 1
        found[f"{player.instrument.id} {count[player.instrument.id]}"] = index
    return found


def fixed_mapping(data: ProblemData) -> frozenset[int]:
    """Melody to the first violins and a flute, bass to cellos and basses, the rest to the middle, one line each."""
    seats = _seats(data)
    chosen: list[int] = []
    busy: list[Option] = []
    for span in data.spans:
        strand = data.strands[span.strand]
        if strand.layer != "assigned":
            continue
        for line in span.lines:
            if strand.lines[line].reduced:
                continue
            outer = strand.role in ("melody", "bass") and line == min(span.lines)
            names = [n for n in FIXED[strand.role if outer else "middle"] if n in seats]
            wanted = 2 if outer else 1
            for name in names:
                options = [
                    o
                    for o in data.by_line.get((span.index, line), ())
                    if o.player == seats[name] and o.lines == (line,) and o.share == WHOLE
                ]
                options.sort(key=lambda o: (abs(o.octave), o.octave))
                free = [
                    o
                    for o in options
                    if not any(b.player == o.player and b.onset < o.end and o.onset < b.end for b in busy)
                ]
                if free and wanted:
                    chosen.append(free[0].index)
                    busy.append(free[0])
                    wanted -= 1
    return frozenset(chosen)


def greedy(data: ProblemData, statements: Statements) -> frozenset[int]:
    """Phrase by phrase: take, again and again, the option that lowers the rules' cost most and breaks no upper limit.

    Lower limits (who must be heard) count as a cost of a thousand each until they hold.
    """
    costs, limits = _touched(data, statements)
    chosen: set[int] = set()
    for phrase in range(len(data.plan)):
        options = [o.index for o in data.options if data.phrase(o) == phrase]
        while True:
            best = min(
                ((_change(data, costs, limits, chosen, k), k) for k in options if k not in chosen), default=(0, -1)
            )
            if best[0] >= 0:
                break
            chosen.add(best[1])
    return frozenset(chosen)


def _touched(data: ProblemData, statements: Statements) -> tuple[dict[int, list[Cost]], dict[int, list[Limit]]]:
    """option -> the costs and limits it has a part in"""
    costs: dict[int, list[Cost]] = defaultdict(list)
    limits: dict[int, list[Limit]] = defaultdict(list)
    for phrase in statements.costs:
        for cost in phrase:
            for option in sorted({o for form in cost.forms for lit, _ in form.terms for o in data.groups.options(lit)}):
                costs[option].append(cost)
    for held in statements.limits:
        for limit in held:
            for option in sorted({o for lit, _ in limit.terms for o in data.groups.options(lit)}):
                limits[option].append(limit)
    return costs, limits


def _change(
    data: ProblemData, costs: dict[int, list[Cost]], limits: dict[int, list[Limit]], chosen: set[int], option: int
) -> float:
    """What adding the option does to the cost; infinity where it breaks an upper limit."""
    after = chosen | {option}
    total = 0
    for limit in limits[option]:
        before_, after_ = (sum(c for lit, c in limit.terms if data.groups.holds(lit, s)) for s in (chosen, after))
        if limit.high is not None and after_ > limit.high and limit.low != limit.high:
            return float("inf")
        if limit.low == limit.high:
            total += 1000 * (abs(after_ - (limit.low or 0)) - abs(before_ - (limit.low or 0)))
        elif limit.low is not None:
            total += 1000 * (max(0, limit.low - after_) - max(0, limit.low - before_))
    for cost in costs[option]:
        total += price(cost, data.groups, after) - price(cost, data.groups, chosen)
    return total
