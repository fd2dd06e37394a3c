"""One window of the problem as a CP-SAT model. Options outside the window are what earlier windows decided."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

from ortools.sat.python import cp_model

from autoorch.problem.data import WHOLE, ProblemData
from autoorch.problem.terms import Cost, Limit, Literal, Weighted

_Linear = tuple[dict[int, int], int]


class Model:
    """A CP-SAT model over the options of phrases first..last-1 that are not `settled`: decided already, like those of earlier
    phrases, as `chosen` says.

    Attributes:
        cp: the model.
        take: option index -> its Boolean.
    """

    def __init__(
        self, data: ProblemData, first: int, last: int, chosen: Collection[int], settled: Collection[int] = ()
    ) -> None:
        self.data = data
        self.cp = cp_model.CpModel()
        self.chosen = chosen
        self.take: dict[int, Any] = {
            option.index: self.cp.new_bool_var(f"x{option.index}")
            for option in data.options
            if first <= data.phrase(option) < last and option.index not in settled
        }
        self._vars: list[Any] = []
        self._index: dict[int, int] = {}
        for option, variable in self.take.items():
            self._index[option] = self._add(variable)
        self._group: dict[Literal, _Linear] = {}
        self._objective: dict[int, dict[int, int]] = {phrase: {} for phrase in range(first, last)}
        self._offset: dict[int, int] = dict.fromkeys(range(first, last), 0)

    def _add(self, variable: Any) -> int:
        self._vars.append(variable)
        return len(self._vars) - 1

    def _expr(self, linear: _Linear) -> Any:
        terms, constant = linear
        keys = list(terms)
        return cp_model.LinearExpr.weighted_sum([self._vars[k] for k in keys], [terms[k] for k in keys]) + constant

    def literal(self, literal: Literal) -> _Linear:
        """A literal as a linear form of the window's variables, exact for whole-number solutions."""
        if literal >= 0:
            if literal in self.take:
                return {self._index[literal]: 1}, 0
            return {}, int(literal in self.chosen)
        known = self._group.get(literal)
        if known is None:
            known = self._group[literal] = self._make_group(literal)
        return known

    def _make_group(self, literal: Literal) -> _Linear:
        options = self.data.groups.options(literal)
        if any(option in self.chosen for option in options if option not in self.take):
            return {}, 1
        inside = [option for option in options if option in self.take]
        if len(inside) < 2:
            return ({self._index[inside[0]]: 1}, 0) if inside else ({}, 0)
        takes = [self.data.options[i] for i in inside]
        together = max(o.onset for o in takes) < min(o.end for o in takes)
        if together and {(o.player, self.data.held(o)) for o in takes} == {(takes[0].player, WHOLE)}:
            return {self._index[i]: 1 for i in inside}, 0
        some = self.cp.new_bool_var(f"any{-literal}")
        for alike in self._one_at_most(inside):
            if len(alike) == 1:
                self.cp.add_implication(self.take[alike[0]], some)
            else:
                self.cp.add(cp_model.LinearExpr.sum([self.take[i] for i in alike]) <= some)
        self.cp.add(cp_model.LinearExpr.sum([self.take[i] for i in inside]) >= some)
        return {self._add(some): 1}, 0

    def _one_at_most(self, options: Iterable[int]) -> list[list[int]]:
        """The options in sets of which one at most is taken: those of one player, who gives all he has, at one time."""
        found: list[list[int]] = []
        until: dict[int, tuple[list[int], int]] = {}
        for option in sorted(map(self.data.options.__getitem__, options), key=lambda o: (o.onset, o.index)):
            own, end = until.get(option.player, ([], 0))
            if self.data.held(option) != WHOLE or option.onset >= end:
                own, end = [], option.end
                found.append(own)
            own.append(option.index)
            if self.data.held(option) == WHOLE:
                until[option.player] = own, min(end, option.end)
        return found

    def linear(self, terms: Weighted, constant: int = 0) -> _Linear:
        """A weighted sum of literals as a linear form."""
        total: dict[int, int] = {}
        for literal, coef in terms:
            parts, fixed = self.literal(literal)
            constant += coef * fixed
            for variable, factor in parts.items():
                total[variable] = total.get(variable, 0) + coef * factor
        return {k: v for k, v in total.items() if v}, constant

    def add_limit(self, limit: Limit, switch: Any = None) -> None:
        """A hard statement; with a `switch` it holds where that is true."""
        linear = self.linear(limit.terms)
        low, high = limit.low, limit.high
        if not linear[0]:
            if (low is not None and linear[1] < low) or (high is not None and linear[1] > high):
                self.cp.add_bool_or([] if switch is None else [~switch])
            return
        expression = self._expr(linear)
        if low is not None and low == high:
            made = [self.cp.add(expression == low)]
        else:
            made = [self.cp.add(expression <= high)] if high is not None else []
            made += [self.cp.add(expression >= low)] if low is not None else []
        if switch is not None:
            for constraint in made:
                constraint.only_enforce_if(switch)

    def cap(self, solver: cp_model.CpSolver) -> None:
        """Hold the costs added so far at what the solver reached, and start a fresh objective."""
        reached = sum(self.phrase_cost(phrase, solver) for phrase in self._objective)
        self.cp.add(self._total() <= reached)
        self._objective = {phrase: {} for phrase in self._objective}
        self._offset = dict.fromkeys(self._offset, 0)

    def add_cost(self, cost: Cost) -> None:
        """A soft statement: a slack no smaller than each of its forms, at its weight."""
        linears = [self.linear(form.terms, form.constant) for form in cost.forms]
        highest = max(constant + sum(v for v in terms.values() if v > 0) for terms, constant in linears)
        if highest <= 0:
            return
        if len(linears) == 1:
            terms, constant = linears[0]
            lowest = constant + sum(v for v in terms.values() if v < 0)
            if lowest >= 0 or len(terms) <= 1:
                self._straight(cost.phrase, cost.weight, terms, constant)
                return
        slack = self.cp.new_bool_var("") if highest == 1 else self.cp.new_int_var(0, highest, "")
        index = self._add(slack)
        for linear in linears:
            self.cp.add(self._expr(linear) <= slack)
        objective = self._objective[cost.phrase]
        objective[index] = objective.get(index, 0) + cost.weight

    def _straight(self, phrase: int, weight: int, terms: dict[int, int], constant: int) -> None:
        """A cost that is linear as it stands: never negative, or of one variable."""
        objective = self._objective[phrase]
        if len(terms) == 1:
            ((variable, coef),) = terms.items()
            without, taken = max(0, constant), max(0, constant + coef)
            self._offset[phrase] += weight * without
            objective[variable] = objective.get(variable, 0) + weight * (taken - without)
            return
        self._offset[phrase] += weight * constant
        for variable, coef in terms.items():
            objective[variable] = objective.get(variable, 0) + weight * coef

    def _total(self) -> Any:
        total: dict[int, int] = {}
        for objective in self._objective.values():
            for variable, coef in objective.items():
                total[variable] = total.get(variable, 0) + coef
        return self._expr((total, sum(self._offset.values())))

    def minimise(self) -> None:
        """Set the objective from all costs added so far."""
        self.cp.minimize(self._total())

    def phrase_cost(self, phrase: int, solver: cp_model.CpSolver) -> int:
        """The solver's own value of one phrase's part of the objective."""
        terms = self._objective[phrase].items()
        return self._offset[phrase] + sum(coef * int(solver.value(self._vars[variable])) for variable, coef in terms)

    def fix(self, options: Collection[int]) -> None:
        """Take exactly these options."""
        for option, variable in self.take.items():
            self.cp.add(variable == (option in options))

    def hint(self, options: Iterable[int]) -> None:
        """A starting point."""
        wanted = set(options)
        for option, variable in self.take.items():
            self.cp.add_hint(variable, option in wanted)
