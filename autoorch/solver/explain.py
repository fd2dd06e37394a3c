"""Why there is no draft: the smallest set of directions and facts that can't hold together, and the least to give up.

One model of the whole cue without an objective, in which each direction is a switch. The solver's own core is shrunk by
deletion; with the directions of the core fixed, the same is done for what must hold in any draft. The ways out are the
smallest sets of directions without which all the others hold. Where no direction is to blame, facts alone are told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from ortools.sat.python import cp_model

from autoorch.cpsat import solver_for
from autoorch.problem.data import ProblemData
from autoorch.problem.terms import Limit
from autoorch.solver.encode import Model

EFFORT = 10.0
"""Seconds of the solver's deterministic time for each question."""
WAYS = 3
"""So many ways out are told."""


@dataclass(frozen=True, slots=True)
class Way:
    """Directions to give up, and what the bars in question then cost; None where that was not found out."""

    give_up: tuple[str, ...]
    cost: int | None = None


@dataclass(frozen=True, slots=True)
class Conflict:
    """Directions that can't hold together, the facts that stand against them (none of either can be spared), ways out.

    Without directions, facts that can't hold together for these players.
    """

    directions: tuple[str, ...]
    facts: tuple[str, ...]
    ways: tuple[Way, ...]

    @property
    def core(self) -> tuple[str, ...]:
        return self.directions or self.facts

    def __str__(self) -> str:
        """On one line, in the user's words."""
        if not self.directions:
            facts = "; ".join(fact(name) for name in self.facts)
            return f"this can't hold together: {facts}. Ways out: add a player, or edit the reading there"
        if len(self.directions) > 1:
            said = f"these directions can't hold together: {'; '.join(self.directions)}"
        else:
            said = f"this direction can't hold: {self.directions[0]}"
        because = f"; for {', '.join(fact(name) for name in self.facts)}" if self.facts else ""
        ways = [self._out(way) + _dearer(way, self.ways) for way in self.ways]
        return f"{said}{because}. Ways out: {', or '.join(ways)}" if ways else f"{said}{because}"

    def _out(self, way: Way) -> str:
        """A way out; what it gives up besides these directions stands in a clash of its own, and is told so."""
        own = [name for name in way.give_up if name in self.directions]
        more = [name for name in way.give_up if name not in self.directions]
        also = f'{" and " if own else "leave out "}"{"; ".join(more)}" (which clashes as well)' if more else ""
        return (f'leave out "{"; ".join(own)}"' if own else "") + also


def _dearer(way: Way, ways: Sequence[Way]) -> str:
    """ " (44 dearer)" beside the cheapest way."""
    known = [other.cost for other in ways if other.cost is not None]
    if way.cost is None or len(known) < 2:
        return ""
    more = way.cost - min(known)
    return f" ({more} dearer)" if more else " (cheapest)"


def fact(name: str) -> str:
    """ "melody heard/bar 5" in words."""
    what, *rest = name.split("/")
    where = f" in {rest[-1]}" if rest else ""
    if what == "one thing at a time":
        return f"{rest[0]} plays one thing at a time{where}"
    if what == "complete set":
        return f"added notes sound as a set{where}"
    if what.endswith(" heard"):
        return f"the {what.removesuffix(' heard')} must be heard{where}"
    return f"{what}{where}"


class _Switched:
    """The limits of a whole cue, some of them each under a switch of its name."""

    def __init__(self, data: ProblemData, limits: Iterable[Limit], switched: Callable[[Limit], bool]) -> None:
        self.model = Model(data, 0, len(data.plan), ())
        self.switch: dict[str, Any] = {}
        for limit in limits:
            if not switched(limit):
                self.model.add_limit(limit)
                continue
            if limit.name not in self.switch:
                self.switch[limit.name] = self.model.cp.new_bool_var(f"on{len(self.switch)}")
            self.model.add_limit(limit, self.switch[limit.name])

    def core(self) -> tuple[str, ...] | None:
        """Names of a smallest set of switches that can't all be on; None where all can, or where it was not found out."""
        index = {switch.index: name for name, switch in self.switch.items()}
        status, solver = self._solve(self.switch)
        if status != cp_model.INFEASIBLE:
            return None
        found = [index[k] for k in solver.sufficient_assumptions_for_infeasibility() if k in index]
        needed = sorted(found, key=list(self.switch).index)
        for name in list(needed):
            fewer = [other for other in needed if other != name]
            if self._solve(fewer)[0] == cp_model.INFEASIBLE:
                needed = fewer
        return tuple(needed)

    def _solve(self, on: Iterable[str]) -> tuple[Any, cp_model.CpSolver]:
        self.model.cp.clear_assumptions()
        self.model.cp.add_assumptions([self.switch[name] for name in on])
        solver = solver_for(EFFORT)
        return solver.solve(self.model.cp), solver

    def least_to_give_up(self, most: int) -> list[tuple[str, ...]]:
        """Smallest sets of switches without which all the others can be on, fewest first, none inside another."""
        self.model.cp.clear_assumptions()
        names = list(self.switch)
        # Among sets of one size, those that keep the earlier directions come first.
        weights = [2 * len(names) ** 2 + len(names) - place for place in range(len(names))]
        self.model.cp.maximize(cp_model.LinearExpr.weighted_sum([self.switch[n] for n in names], weights))
        found: list[tuple[str, ...]] = []
        while len(found) < most:
            solver = solver_for(EFFORT)
            if solver.solve(self.model.cp) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                break
            off = tuple(name for name in names if not solver.boolean_value(self.switch[name]))
            if not off:
                break
            found.append(off)
            self.model.cp.add_bool_or([self.switch[name] for name in off])
        return found


def conflict(
    data: ProblemData,
    limits: Sequence[Limit],
    asked: Iterable[str],
    price: Callable[[tuple[str, ...], range], int | None],
) -> Conflict | None:
    """What can't hold together in the whole cue: directions, or facts where no direction is to blame; None where all can, or
    where it was not found out.

    Args:
        limits: all that must hold.
        asked: names of those that are somebody's wish.
        price: cost of some phrases, those in question, without some of them.
    """
    wishes = set(asked)
    named = [limit for limit in limits if limit.name in wishes]
    directions = _Switched(data, limits, lambda limit: limit.name in wishes)
    core = directions.core() if named else None
    if not core:
        facts = _Switched(data, limits, lambda limit: limit.name not in wishes).core()
        return Conflict((), facts, ()) if facts else None
    phrases = {limit.phrase for limit in named if limit.name in core}
    fixed = [limit for limit in limits if limit.name in core]
    others = [limit for limit in limits if limit.name not in wishes]
    facts = _Switched(data, [*fixed, *others], lambda limit: limit.name not in core and limit.phrase in phrases).core()
    concerned = range(min(phrases), max(phrases) + 1)
    ways = [Way(names, price(names, concerned)) for names in directions.least_to_give_up(WAYS)]
    ways.sort(key=lambda way: (way.cost is None, way.cost or 0, way.give_up))
    return Conflict(core, facts or (), tuple(ways))
