"""Solving a cue: one piece where it is short, windows of phrases where it is long, the halves of a long one at the same time;
always the same answer.

One worker, a fixed seed and the solver's own deterministic time make the same input give the same draft; the wall clock is
only a net. A window has its share of the effort; what the easy ones leave, and part of what those to come may leave, goes to
those whose gap would be seen in the whole cue's. A window starts from what the windows before it decided; it may look a few
phrases beyond what it keeps, which measured on real pieces is worth less than 0.3 % of the cost and takes twice the time. Two
chains of windows do not know each other; the joint between them, solved last, knows both, and has the costs of whatever touches
both.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from threading import Lock

from ortools.sat.python import cp_model

from autoorch.cpsat import solver_for
from autoorch.errors import NoDraft
from autoorch.problem.data import ProblemData
from autoorch.problem.terms import under
from autoorch.solver.encode import Model
from autoorch.solver.explain import conflict
from autoorch.solver.search import Search
from autoorch.solver.statements import Statements, settled
from autoorch.solver.stop import Stop

WIDEST = 4000
"""Windows of more options than this are not widened again."""
ROUGH = 0.05
"""Relative gap at which the cost of a way out is told."""
CHAIN = 3
"""A chain has at least so many windows' options."""
UNEVEN = 0.2
"""A chain is at most by this share longer or shorter than an even one at each end."""
BORROWED = 0.8
"""Share of the effort of the windows to come that a hard one may take: most of them need little of it."""
CLOSE = 0.007
"""Share of the cue's cost at which the windows' gaps together are small enough, so that a hard one is left as it is."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Effort and window size.

    Attributes:
        seconds: deterministic time for the whole cue, roughly seconds.
        options: a window holds about so many options.
        overlap: phrases that a window looks ahead beyond what it keeps.
        gap: a window is good enough at this relative gap.
        chains: runs of windows that may be solved at the same time, however many processors there are.
    """

    seconds: float = 40.0
    options: int = 1000
    overlap: int = 0
    gap: float = 0.005
    chains: int = 2


@dataclass(frozen=True, slots=True)
class Progress:
    """Told after each window: phrases done of all, cost and gap so far."""

    done: int
    total: int
    cost: int
    gap: float


@dataclass(frozen=True)
class Solution:
    """Chosen options and how sure we are.

    Attributes:
        slack: sum over windows of (cost - proven bound); no window can be bettered by more, given those before it.
        solver_cost: sum of the solver's own objective values, seams counted once.
        stopped: the wall-clock net or the user ended it early, so it cannot be made again exactly.
    """

    chosen: frozenset[int]
    solver_cost: int
    slack: int
    windows: int
    stopped: bool = False


@dataclass(frozen=True, slots=True)
class _Answer:
    """One window's answer.

    Attributes:
        taken: its options.
        slack: cost - proven bound.
        hurried: stopped by the clock.
        costs: the solver's own by phrase.
        spent: deterministic time.
    """

    taken: frozenset[int]
    slack: int
    hurried: bool
    costs: tuple[int, ...]
    spent: float

    @property
    def cost(self) -> int:
        return sum(self.costs)


def _sizes(data: ProblemData) -> list[int]:
    """Options of each phrase."""
    sizes = [0] * len(data.plan)
    for option in data.options:
        sizes[data.phrase(option)] += 1
    return sizes


def windows(data: ProblemData, limits: Limits, first: int = 0, end: int | None = None) -> list[tuple[int, int, int]]:
    """(first phrase, first phrase not kept, first phrase not seen) of each window of these phrases."""
    sizes = _sizes(data)
    total = len(sizes) if end is None else end
    if sum(sizes[first:total]) <= limits.options:
        return [(first, total, total)]
    found = []
    while first < total:
        last, size = first, 0
        while last < total and (last == first or size + sizes[last] <= limits.options):
            size += sizes[last]
            last += 1
        if total - last <= limits.overlap:
            last = total
        keep = last if last == total else max(first + 1, last - limits.overlap)
        found.append((first, keep, last))
        first = keep
    return found


def chains(data: ProblemData, statements: Statements, limits: Limits) -> list[tuple[int, int, int]]:
    """(first phrase, first phrase of its joint with the next chain, first phrase of the next chain) of each chain.

    A chain begins near its even share of the options, where the least reaches over from what is before.
    """
    sizes, found, first = _sizes(data), [], 0
    before = [sum(sizes[:phrase]) for phrase in range(len(sizes) + 1)]
    number = max(1, min(limits.chains, before[-1] // (CHAIN * limits.options)))
    for chain in range(1, number):
        even = [abs(number * total / before[-1] - chain) for total in before]
        near = [phrase for phrase in range(first + 2, len(sizes) - 1) if even[phrase] <= UNEVEN]
        if not near:
            continue
        last = min(near, key=lambda phrase: (statements.shared(data, phrase), even[phrase]))
        joint = last - 1
        while joint > first + 1 and before[last] - before[joint - 1] <= limits.options:
            joint -= 1
        found.append((first, joint, last))
        first = last
    return [*found, (first, len(sizes), len(sizes))]


class _Narrow(Exception):
    """A window can't be solved after what the others decided."""


@dataclass
class _Search:
    """One solve: what is asked, and what all chains have decided so far."""

    data: ProblemData
    statements: Statements
    limits: Limits
    tell: Callable[[Progress], None]
    hint: frozenset[int]
    stop: Stop
    sizes: list[int]
    lock: Lock = field(default_factory=Lock)
    done: int = 0
    cost: int = 0
    slack: int = 0
    stopped: bool = False

    def chain(
        self, plan: list[tuple[int, int, int]], known: frozenset[int], left: float
    ) -> tuple[frozenset[int], float]:
        """The options of a run of windows, each after the one before it, and what they leave of the effort (`left`: what
        they may take besides their own)."""
        chosen, cost, slack, seen = set(known), 0, 0, 0
        total = sum(self.sizes[plan[0][0] : plan[-1][1]])
        for first, keep, last in plan:
            size = sum(self.sizes[first:last])
            effort = self.limits.seconds * size / max(1, sum(self.sizes))
            seen += size
            ahead = self.limits.seconds * (total - seen) / max(1, sum(self.sizes))
            before = cost, slack, seen / total if total else 1.0
            answer, left = self._best(first, last, chosen, effort, left, ahead, before)
            chosen |= {option for option in answer.taken if self.data.phrase(self.data.options[option]) < keep}
            cost += sum(answer.costs[: keep - first])
            slack += answer.slack
            with self.lock:
                self.done += keep - first
                self.cost += sum(answer.costs[: keep - first])
                self.slack += answer.slack
                self.stopped = self.stopped or answer.hurried or self.stop.asked
                gap = self.slack / self.cost if self.cost else 0.0
                self.tell(Progress(self.done, len(self.data.plan), self.cost, gap))
        return frozenset(chosen) - known, left

    def _best(
        self,
        first: int,
        last: int,
        chosen: set[int],
        effort: float,
        left: float,
        ahead: float,
        before: tuple[int, int, float],
    ) -> tuple[_Answer, float]:
        """A window's answer, and what is left of the effort.

        Args:
            left: effort that the windows before it did not need; below 0 where they borrowed.
            ahead: effort of the windows after it in its chain.
            before: cost and slack of the chain so far, and the share of its options that will then be decided.

        Raises:
            _Narrow: where wider windows may do better.
            NoDraft: where nothing does.
        """
        data, limits, stop = self.data, self.limits, self.stop

        def window(effort: float, gap: float, give_way: bool, hint: frozenset[int]) -> _Answer | None:
            return _window(data, self.statements, first, last, chosen, effort, gap, stop, give_way=give_way, hint=hint)

        give_way = False
        answer = window(effort, limits.gap, give_way, self.hint)
        if answer is None and last - first < len(data.plan) and limits.options <= WIDEST:
            raise _Narrow
        if answer is None:
            give_way = True
            answer = window(effort, limits.gap, give_way, self.hint)
        if answer is None:
            clash = _clash(data, self.statements, chosen, limits.seconds, stop)
            told = f"{_bars(data, first, last)}: {data.lineup.name} can't keep all that must be heard; add a player"
            raise clash or NoDraft(told)
        left += effort - answer.spent
        cost, slack, share = before
        bearable = CLOSE * (cost + answer.cost) / share - slack
        gap = max(limits.gap, bearable / max(1, answer.cost))
        spare = left + BORROWED * ahead
        if answer.slack > gap * answer.cost and spare > effort and not (stop.asked or answer.hurried):
            more = window(spare, gap, give_way, answer.taken)
            left -= more.spent if more is not None else left
            hurried = more is not None and more.hurried
            if more is not None and more.slack < answer.slack:
                answer = more
            answer = replace(answer, hurried=answer.hurried or hurried)
        return answer, left


def solve(
    data: ProblemData,
    statements: Statements,
    limits: Limits | None = None,
    tell: Callable[[Progress], None] = lambda progress: None,
    hint: frozenset[int] = frozenset(),
    stop: Stop | None = None,
) -> Solution:
    """The cheapest set of options that keeps all limits, as far as the effort goes; `hint` is where the search starts.

    Once `stop` is asked, what is not decided yet takes the first answer that is found.

    A window that can't be solved after what the others decided (a held note keeps its only player) has the cue solved again,
    in one chain, then in wider windows that look ahead, unless directions clash; only then do the limits give way that may.

    Raises:
        NoDraft: where the limits can't hold together in some window; its message names the bars.
    """
    limits = limits or Limits()
    stop = stop or Stop()
    plan = chains(data, statements, limits)
    runs = [windows(data, limits, first, joint) for first, joint, _ in plan]
    booked = statements
    for first, _, last in plan[1:]:
        booked = booked.joined(data, first, last)
    search = _Search(data, booked, limits, tell, hint, stop, _sizes(data))
    count = sum(map(len, runs)) + len(plan) - 1
    try:
        if len(plan) == 1:
            chosen, _ = search.chain(runs[0], frozenset(), 0.0)
            return Solution(chosen, search.cost, search.slack, count, search.stopped)
        with ThreadPoolExecutor(min(len(plan), os.cpu_count() or 1)) as pool:
            futures = [pool.submit(search.chain, run, frozenset[int](), 0.0) for run in runs]
            parts = [future.result() for future in futures]
        chosen, left = frozenset[int]().union(*(part for part, _ in parts)), sum(rest for _, rest in parts)
        for _, joint, last in plan[:-1]:
            own, left = search.chain([(joint, last, last)], chosen, left)
            chosen |= own
        return Solution(chosen, search.cost, search.slack, count, search.stopped)
    except _Narrow:
        if not limits.overlap and (clash := _clash(data, statements, set(), limits.seconds, stop)):
            raise clash from None
        wider = replace(limits, options=4 * limits.options, overlap=limits.overlap + 1)
        wider = wider if len(plan) == 1 else replace(limits, chains=1)
        return solve(data, statements, wider, tell, hint, stop)


def _clash(data: ProblemData, statements: Statements, chosen: set[int], seconds: float, stop: Stop) -> NoDraft | None:
    """The error for what can't hold together in the whole cue: directions with the ways out, or facts; None where all can.

    `chosen` is decided already; `seconds` is the effort for a whole cue.
    """

    def price(names: tuple[str, ...], phrases: range) -> int | None:
        fewer = statements.without(names)
        share = seconds * len(phrases) / max(1, len(data.plan))
        answer = _window(data, fewer, phrases.start, phrases.stop, chosen, share, ROUGH, stop, give_way=True)
        return answer.cost if answer is not None else None

    must = [limit for phrase in statements.limits for limit in phrase if limit.name not in statements.soft]
    found = conflict(data, must, statements.asked, price)
    return NoDraft(str(found), found.core, tuple(way.give_up for way in found.ways)) if found else None


def _bars(data: ProblemData, first: int, last: int) -> str:
    names = [data.bar_name.get(data.plan[k].start) for k in (first, last - 1)]
    return f"bars {names[0]} to {names[1]} and on"


def _window(
    data: ProblemData,
    statements: Statements,
    first: int,
    last: int,
    chosen: set[int],
    effort: float,
    gap: float,
    stop: Stop,
    *,
    give_way: bool = False,
    hint: frozenset[int] = frozenset(),
) -> _Answer | None:
    """The cheapest answer that the effort finds, or None where infeasible.

    With `give_way` the thirds and tendency notes that a small line-up can't all keep become the first thing to minimise.
    """
    hard = [limit for row in statements.limits[first:last] for limit in row if limit.name not in statements.soft]
    known = settled(hard)
    given = frozenset(option for option, is_taken in known.items() if is_taken)
    model = Model(data, first, last, given | chosen, known)
    given_up = data.tables.rule("coverage")["given_up"]
    before = [cost for phrase in range(first, last) for cost in statements.shortfalls[phrase]]
    for phrase in range(first, last):
        for limit in statements.limits[phrase]:
            if give_way and limit.name in statements.soft:
                weight = given_up[limit.name.split(" heard/")[0]]
                before.append(under(limit.name, phrase, weight, limit.terms, limit.low or 0, limit.name))
            else:
                model.add_limit(limit)
    spent, hurried = 0.0, False
    if before:
        for cost in before:
            model.add_cost(cost)
        model.minimise()
        first_of_all = Search.run(model.cp, effort, gap, stop)
        if first_of_all.status == cp_model.INFEASIBLE:
            return None
        spent, hurried = first_of_all.spent, first_of_all.hurried
        model.cap(first_of_all.solver)
    for phrase in range(first, last):
        for cost in statements.costs[phrase]:
            model.add_cost(cost)
    if hint:
        model.hint(hint)
    model.minimise()
    search = Search.run(model.cp, effort, gap, stop)
    if search.status == cp_model.INFEASIBLE:
        return None
    solver = search.solver
    if search.status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise NoDraft(f"{_bars(data, first, last)}: no draft found in time; allow more --seconds")
    bound = solver.best_objective_bound
    taken = given | {option for option, variable in model.take.items() if solver.boolean_value(variable)}
    if solver.objective_value - bound >= 1:
        # A solution short of the optimum may carry slacks larger than they need be: settle them for the same choice.
        model.fix(taken)
        solver = solver_for(effort)
        solver.solve(model.cp)
    costs = tuple(model.phrase_cost(phrase, solver) for phrase in range(first, last))
    slack = max(0, sum(costs) - math.ceil(bound - 1e-6))
    return _Answer(taken, slack, hurried or search.hurried, costs, spent + search.spent)
