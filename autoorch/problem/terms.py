"""What a rule may say, free of any solver: hard limits and soft costs, both linear over literals.

A literal is an option (its index, 0 and up) or "any of these options" (a group, -1 and down). A rule states its limits and
costs once; the solver encodes them and the checker evaluates them on a finished draft, each with code of its own.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

Literal = int
Weighted = tuple[tuple[Literal, int], ...]


@dataclass(frozen=True, slots=True)
class Limit:
    """Hard: low <= sum of coefficient x literal <= high (None: open). `name` is readable, such as "range/Horn 1/bar 5"."""

    name: str
    phrase: int
    terms: Weighted
    low: int | None = None
    high: int | None = None


@dataclass(frozen=True, slots=True)
class Form:
    """A linear form: sum of coefficient x literal + constant."""

    terms: Weighted
    constant: int = 0


@dataclass(frozen=True, slots=True)
class Cost:
    """Soft: weight x max(0, the largest of `forms`).

    Attributes:
        rule: name of the rule family.
        phrase: index of the phrase that the cost is booked to, the latest one it touches.
        what: plain words for reports ("bass weaker than the figure").
    """

    rule: str
    phrase: int
    weight: int
    forms: tuple[Form, ...]
    what: str = ""


@dataclass
class Groups:
    """Registry of "any of these options"; equal sets get the same literal."""

    members: list[tuple[int, ...]] = field(default_factory=list)
    _known: dict[tuple[int, ...], int] = field(default_factory=dict)

    def any(self, options: Iterable[int]) -> Literal:
        """The literal that is true where any of the options is chosen.

        Raises:
            ValueError: for an empty set.
        """
        key = tuple(sorted(set(options)))
        if not key:
            raise ValueError("a group needs an option")
        if len(key) == 1:
            return key[0]
        literal = self._known.get(key)
        if literal is None:
            self.members.append(key)
            literal = -len(self.members)
            self._known[key] = literal
        return literal

    def options(self, literal: Literal) -> tuple[int, ...]:
        """The options behind a literal."""
        return (literal,) if literal >= 0 else self.members[-literal - 1]

    def holds(self, literal: Literal, chosen: Collection[int]) -> bool:
        """Whether a literal is true where exactly the options in `chosen` are taken."""
        return literal in chosen if literal >= 0 else any(map(chosen.__contains__, self.members[-literal - 1]))


def both(rule: str, phrase: int, weight: int, first: Literal, second: Literal, what: str) -> Cost:
    """`weight` where both literals are true."""
    return Cost(rule, phrase, weight, (Form(((first, 1), (second, 1)), -1),), what)


def missing(rule: str, phrase: int, weight: int, literals: Iterable[Literal], what: str) -> Cost:
    """`weight` where none of the literals is true."""
    return Cost(rule, phrase, weight, (Form(tuple((literal, -1) for literal in literals), 1),), what)


def over(rule: str, phrase: int, weight: int, terms: Weighted, allowed: int, what: str) -> Cost:
    """`weight` for each unit by which the sum exceeds `allowed`."""
    return Cost(rule, phrase, weight, (Form(terms, -allowed),), what)


def under(rule: str, phrase: int, weight: int, terms: Weighted, wanted: int, what: str) -> Cost:
    """`weight` for each unit by which the sum falls short of `wanted`."""
    return Cost(rule, phrase, weight, (Form(tuple((lit, -coef) for lit, coef in terms), wanted),), what)


def differ(rule: str, phrase: int, weight: int, first: Literal, second: Literal, what: str) -> Cost:
    """`weight` where exactly one of the two literals is true."""
    return Cost(rule, phrase, weight, (Form(((first, 1), (second, -1))), Form(((second, 1), (first, -1)))), what)
