"""Why a player has this here: what each choice costs and spares by the model's own statements, and what the next best costs.

A ledger holds every cost and limit of the rules with its value on the draft, so that one option swapped for another is
priced from what it touches alone.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from autoorch.problem.data import Option, ProblemData
from autoorch.problem.draft import Choice
from autoorch.problem.terms import Cost, Limit, Literal
from autoorch.rules import directions
from autoorch.solver.result import choice_of
from autoorch.solver.statements import Statements


@dataclass(frozen=True, slots=True)
class Share:
    """A cost that moves: rule, what it says, and by how much."""

    rule: str
    what: str
    cost: int


@dataclass(frozen=True, slots=True)
class Other:
    """The next best for a place: who would play, what the whole draft would then cost more, and why.

    `against` are the directions that it would break or bend.
    """

    choice: Choice
    cost: int
    shares: tuple[Share, ...]
    against: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Reason:
    """Why one choice stands.

    Attributes:
        role: of the strand.
        layer: "assigned", or the layer that added the strand; `why_added` is its own reason.
        asked: directions that name this player for it, as the user said them.
        needed: names of limits that would break without it ("melody heard/bar 5").
        without: cost of leaving it out, less the cost of the draft; None where it is needed or must be by a direction.
        shares: costs that it brings (above 0) and spares (below 0), largest first.
        other: the cheapest other way to fill the place by a single swap, None where there is none.
    """

    choice: Choice
    role: str
    layer: str
    why_added: str
    asked: tuple[str, ...]
    needed: tuple[str, ...]
    without: int | None
    shares: tuple[Share, ...]
    other: Other | None


Flips = list[tuple[Literal, int]]


class Ledger:
    """All statements of the rules, and what preferences miss, valued on one draft."""

    def __init__(self, data: ProblemData, chosen: Collection[int], said: Statements) -> None:
        self.data, self.chosen = data, frozenset(chosen)
        self.costs: list[Cost] = [cost for rows in (said.costs, said.shortfalls) for row in rows for cost in row]
        self.limits: list[Limit] = [limit for row in said.limits for limit in row]
        self._in_forms: dict[Literal, list[tuple[int, int, int]]] = defaultdict(list)
        self._in_limits: dict[Literal, list[tuple[int, int]]] = defaultdict(list)
        self._groups: dict[int, list[Literal]] = defaultdict(list)
        self._count: dict[Literal, int] = {}
        self._values = [[form.constant for form in cost.forms] for cost in self.costs]
        self._amounts = [0] * len(self.limits)
        for number, cost in enumerate(self.costs):
            for place, form in enumerate(cost.forms):
                for literal, coef in form.terms:
                    self._in_forms[literal].append((number, place, coef))
        for number, limit in enumerate(self.limits):
            for literal, coef in limit.terms:
                self._in_limits[literal].append((number, coef))
        for literal in sorted({*self._in_forms, *self._in_limits}):
            options = data.groups.options(literal)
            for option in options:
                self._groups[option].append(literal)
            self._count[literal] = len(self.chosen.intersection(options))
            if self._count[literal]:
                for number, place, coef in self._in_forms.get(literal, ()):
                    self._values[number][place] += coef
                for number, coef in self._in_limits.get(literal, ()):
                    self._amounts[number] += coef

    def swap(self, out: Iterable[int], into: Iterable[int]) -> tuple[list[Share], list[str]]:
        """(costs that move, limits that would break and do not now) where some options are left and others taken."""
        flips = self.flips(out, into)
        return self.shares(flips), self.broken(flips)

    def flips(self, out: Iterable[int], into: Iterable[int]) -> Flips:
        """The literals that turn true (1) or false (-1) where some options are left and others taken."""
        moved: dict[Literal, int] = defaultdict(int)
        for options, step in ((out, -1), (into, 1)):
            for option in options:
                for literal in self._groups.get(option, ()):
                    moved[literal] += step
        found = []
        for literal, step in moved.items():
            count = self._count[literal]
            if change := (count + step > 0) - (count > 0):
                found.append((literal, change))
        return found

    def shares(self, flips: Flips) -> list[Share]:
        """The costs that move."""
        forms: dict[int, dict[int, int]] = {}
        for literal, change in flips:
            for number, place, coef in self._in_forms.get(literal, ()):
                moves = forms.setdefault(number, {})
                moves[place] = moves.get(place, 0) + change * coef
        found = []
        for number in sorted(forms):
            cost, values, moves = self.costs[number], self._values[number], forms[number]
            after = max(0, *[value + moves.get(place, 0) for place, value in enumerate(values)])
            if change := cost.weight * (after - max(0, *values)):
                found.append(Share(cost.rule, cost.what, change))
        return found

    def broken(self, flips: Flips) -> list[str]:
        """The limits that would break and do not now."""
        amounts: dict[int, int] = {}
        for literal, change in flips:
            for number, coef in self._in_limits.get(literal, ()):
                amounts[number] = amounts.get(number, 0) + change * coef
        return [
            self.limits[number].name
            for number in sorted(amounts)
            if amounts[number]
            and not _within(self.limits[number], self._amounts[number] + amounts[number])
            and _within(self.limits[number], self._amounts[number])
        ]


def _within(limit: Limit, amount: int) -> bool:
    return (limit.low is None or amount >= limit.low) and (limit.high is None or amount <= limit.high)


def reasons(ledger: Ledger, wanted: Iterable[Choice]) -> tuple[Reason, ...]:
    """The reasons of those of the wanted choices that are taken, in their order."""
    data = ledger.data
    taken = {choice_of(data, data.options[index]): data.options[index] for index in sorted(ledger.chosen)}
    return tuple(_reason(ledger, taken[choice]) for choice in wanted if choice in taken)


def _reason(ledger: Ledger, option: Option) -> Reason:
    data = ledger.data
    strand = data.strands[data.spans[option.span].strand]
    shares, broken = ledger.swap([option.index], [])
    _, needed = _asked(data, shares, broken)
    return Reason(
        choice_of(data, option),
        strand.role,
        strand.layer,
        strand.reason,
        tuple(
            wish.name
            for wish in data.wishes
            if wish.kind != "avoid" and option.player in wish.players and directions.is_about(data, wish, option)
        ),
        needed,
        None if broken else _cost(shares),
        _gathered(shares, -1),
        _next_best(ledger, option),
    )


def _asked(
    data: ProblemData, shares: Iterable[Share], broken: Iterable[str]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """(directions that a change breaks or bends, other limits that it breaks), each once."""
    wishes = {wish.name for wish in data.wishes}
    names = list(dict.fromkeys(broken))
    bent = [share.what for share in shares if share.rule == directions.NAME and share.cost > 0]
    asked = dict.fromkeys([*(name for name in names if name in wishes), *bent])
    return tuple(asked), tuple(name for name in names if name not in wishes)


def _cost(shares: Iterable[Share]) -> int:
    """What a change costs by the rules; preferences are no part of it."""
    return sum(share.cost for share in shares if share.rule != directions.NAME)


def _next_best(ledger: Ledger, option: Option) -> Other | None:
    """The cheapest swap for another option of the span that plays the same lines and breaks nothing.

    One that goes against fewer directions comes before one that costs less.
    """
    data, lines = ledger.data, set(option.lines)
    wishes = {wish.name for wish in data.wishes}
    best: tuple[int, int] | None = None
    found: Other | None = None
    for other in data.by_span[option.span]:
        if other.index in ledger.chosen or not lines.issubset(other.lines) or other.player == option.player:
            continue
        flips = ledger.flips([option.index], [other.index])
        broken = ledger.broken(flips)
        if not wishes.issuperset(broken):
            continue
        shares = ledger.shares(flips)
        against, _ = _asked(data, shares, broken)
        cost = _cost(shares)
        if best is None or (len(against), cost) < best:
            best = len(against), cost
            found = Other(choice_of(data, data.options[other.index]), cost, _gathered(shares, 1), against)
    return found


def _gathered(shares: Iterable[Share], sign: int) -> tuple[Share, ...]:
    """Shares of one rule and wording added up, largest first; preferences left out, which are told as directions."""
    sums: dict[tuple[str, str], int] = defaultdict(int)
    for share in shares:
        if share.rule != directions.NAME:
            sums[share.rule, share.what] += sign * share.cost
    found = [Share(rule, what, cost) for (rule, what), cost in sums.items() if cost]
    return tuple(sorted(found, key=lambda s: (-abs(s.cost), s.rule, s.what)))
