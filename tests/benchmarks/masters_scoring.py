"""A real scoring as choices of our problem, span by span, and what any choice costs by rule."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from autoorch.problem.data import WHOLE, Option, ProblemData
from autoorch.problem.terms import Cost, Limit
from autoorch.rules import price
from autoorch.solver.statements import Statements
from tests.benchmarks.masters_score import Passage

CHORDS = 0.1
"""A section with two notes at once on more than this share of its attacks is taken to be divided."""


@dataclass(frozen=True)
class Mapped:
    """A real scoring as options.

    Attributes:
        chosen: the options.
        notes: notes of all its players; `told`: those that the options sound; `extra`: notes of the options that it lacks.
        carried: sketch notes that the options sound.
    """

    chosen: frozenset[int]
    notes: int
    told: int
    extra: int
    carried: frozenset[str]


def mapped(passage: Passage, data: ProblemData) -> Mapped:
    """For each player, phrase by phrase, the options that sound most of what it really plays and little else."""
    chosen: list[Option] = []
    notes = told = extra = 0
    for number, player in enumerate(data.players):
        own = {(note.onset, note.pitch.midi) for note in passage.played[player.name]}
        notes += len(own)
        by_phrase: dict[int, list[Option]] = defaultdict(list)
        for option in data.by_player[number]:
            if not option.techniques and not option.instrument:
                by_phrase[data.phrase(option)].append(option)
        taken: list[Option] = []
        for phrase, options in sorted(by_phrase.items()):
            plan = data.plan[phrase]
            here = {entry for entry in own if plan.start <= entry[0] < plan.end}
            if here:
                heard, wrong = _take(data, options, here, taken)
                told += heard
                extra += wrong
        chosen += taken
    carried = {note.id for option in chosen for profile in data.profiles(option) for note in profile.notes}
    return Mapped(frozenset(option.index for option in chosen), notes, told, extra, frozenset(carried))


def sounds(data: ProblemData, option: Option) -> set[tuple[int, int]]:
    """(onset, sounding pitch) of everything an option plays."""
    return {
        (note.onset, note.pitch.midi + 12 * option.octave)
        for profile in data.profiles(option)
        for note in profile.notes
        if note.duration
    }


def _take(
    data: ProblemData, options: Iterable[Option], own: set[tuple[int, int]], taken: list[Option]
) -> tuple[int, int]:
    """(own notes heard, other notes heard) of the options added to `taken`: greedily what explains most, in one whole share."""
    attacks = Counter(onset for onset, _ in own)
    divided = sum(count > 1 for count in attacks.values()) > CHORDS * len(attacks)
    left = [(option, sounds(data, option)) for option in options]
    left = [(option, notes) for option, notes in left if 2 * len(notes & own) > len(notes)]
    heard: set[tuple[int, int]] = set()
    wrong = 0
    while left:
        best = max(
            left,
            key=lambda e: (2 * len((e[1] & own) - heard) - len(e[1]), (e[0].share < WHOLE) == divided, -e[0].index),
        )
        option, notes = best
        left.remove(best)
        if 2 * len((notes & own) - heard) <= len(notes):
            break
        clash = sum(o.share for o in taken if o.onset < option.end and option.onset < o.end)
        if clash + option.share <= WHOLE:
            taken.append(option)
            heard |= notes & own
            wrong += len(notes - own)
    return len(heard), wrong


class Prices:
    """What sets of options cost, by rule, and which limits they break; statements are gathered once."""

    def __init__(self, data: ProblemData, statements: Statements) -> None:
        self.data = data
        self.costs: list[Cost] = [cost for phrase in statements.costs for cost in phrase]
        self.limits: list[Limit] = [limit for phrase in statements.limits for limit in phrase]
        self._touch: dict[int, list[int]] = defaultdict(list)
        self._nobody: list[int] = []
        for number, cost in enumerate(self.costs):
            for option in {o for form in cost.forms for literal, _ in form.terms for o in data.groups.options(literal)}:
                self._touch[option].append(number)
            self._nobody.append(price(cost, data.groups, ()))

    def by_rule(self, chosen: Collection[int]) -> Counter[str]:
        """Rule -> cost."""
        found: Counter[str] = Counter()
        touched = {number for option in chosen for number in self._touch[option]}
        for number, cost in enumerate(self.costs):
            paid = price(cost, self.data.groups, chosen) if number in touched else self._nobody[number]
            if paid:
                found[cost.rule] += paid
        return found

    def by_reason(self, chosen: Collection[int]) -> Counter[tuple[str, str]]:
        """(rule, what) -> cost."""
        found: Counter[tuple[str, str]] = Counter()
        for cost in self.costs:
            paid = price(cost, self.data.groups, chosen)
            if paid:
                found[cost.rule, cost.what] += paid
        return found

    def total(self, chosen: Collection[int]) -> int:
        return self.by_rule(chosen).total()

    def broken(self, chosen: Collection[int]) -> list[str]:
        """Names of the limits that do not hold."""
        names = []
        for limit in self.limits:
            amount = sum(coef for literal, coef in limit.terms if self.data.groups.holds(literal, chosen))
            if (limit.low is not None and amount < limit.low) or (limit.high is not None and amount > limit.high):
                names.append(limit.name)
        return names
