"""What the brief asks for, over bars, role and players: must, only and avoid are hard, prefer is the first objective.

Preferences are no cost of the weighted sum: they are solved for first, and the rest is solved under what they reached.
"""

from __future__ import annotations

from collections.abc import Iterator

from autoorch.problem.data import Option, ProblemData, Wish
from autoorch.problem.terms import Cost, Form, Limit

NAME = "directions"


def concerned(data: ProblemData, wish: Wish) -> list[Option]:
    """Options inside the bars and the role of a direction."""
    return [option for option in data.options if is_about(data, wish, option)]


def is_about(data: ProblemData, wish: Wish, option: Option) -> bool:
    """The option's span has something inside the bars, and its strand the role, of a direction."""
    span = data.spans[option.span]
    inside = span.start < wish.end and span.end > wish.start
    return inside and (not wish.roles or data.strands[span.strand].role in wish.roles)


def limits(data: ProblemData) -> Iterator[Limit]:
    """must: each named player takes the role in each span of it; only: nobody else; avoid: none of them."""
    for wish in data.wishes:
        options = concerned(data, wish)
        if wish.kind == "avoid":
            for option in options:
                if option.player in wish.players:
                    yield Limit(wish.name, data.phrase(option), ((option.index, 1),), high=0)
            continue
        if wish.octave is not None:
            for option in options:
                if option.player in wish.players and option.octave != wish.octave:
                    yield Limit(wish.name, data.phrase(option), ((option.index, 1),), high=0)
        if wish.kind == "only":
            for option in options:
                if option.player not in wish.players:
                    yield Limit(wish.name, data.phrase(option), ((option.index, 1),), high=0)
        if wish.kind == "must":
            for phrase, terms in _players_by_phrase(data, wish, options):
                yield Limit(wish.name, phrase, terms, low=1)


def _players_by_phrase(
    data: ProblemData, wish: Wish, options: list[Option]
) -> Iterator[tuple[int, tuple[tuple[int, int], ...]]]:
    """(phrase, the player's options in it) for each player and each phrase in which the role sounds."""
    for phrase in sorted({data.phrase(option) for option in options}):
        for player in wish.players:
            terms = tuple((o.index, 1) for o in options if o.player == player and data.phrase(o) == phrase)
            yield phrase, terms


def costs(data: ProblemData) -> Iterator[Cost]:
    """None in the weighted sum."""
    return iter(())


def shortfalls(data: ProblemData) -> Iterator[Cost]:
    """The first objective: quarter-bars in which a preferred player does not have the role."""
    weight = data.tables.rule(NAME)["weights"]["prefer"]
    for wish in data.wishes:
        if wish.kind != "prefer":
            continue
        for phrase, terms in _players_by_phrase(data, wish, concerned(data, wish)):
            if terms:
                form = Form(tuple((literal, -coef) for literal, coef in terms), 1)
                length = max(data.spans[data.options[terms[0][0]].span].length, 1)
                yield Cost(NAME, phrase, weight * length, (form,), wish.name)
