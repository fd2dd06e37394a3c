"""What the brief asks for, over bars, role and players: must, only and avoid are hard, prefer is the first objective.

Preferences are no cost of the weighted sum: they are solved for first, and the rest is solved under what they reached.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator

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
    """must: each named player, or somebody of a named family, takes the role wherever he can, and somewhere in each phrase;
    only: nobody else; avoid: none."""
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
            found = [(phrase, options) for phrase, _, options in places(data, wish)]
            able = {phrase for phrase, options in found if options}
            for phrase, literals in found:
                if literals or phrase not in able:
                    yield Limit(wish.name, phrase, tuple((index, 1) for index in literals), low=1)


def places(data: ProblemData, wish: Wish) -> Iterator[tuple[int, int, tuple[int, ...]]]:
    """Where each named player should have the role, or somebody of each named family: (phrase, quarter-bars, their options
    there, none where they can't).

    A place is a stretch in which the role keeps its spans; without a role it is a phrase, in which each player has something.
    """
    options = concerned(data, wish)
    if not wish.roles:
        for phrase in sorted({data.phrase(option) for option in options}):
            here = [option for option in options if data.phrase(option) == phrase]
            length = max(data.spans[option.span].length for option in here)
            for player in wish.players:
                yield phrase, length, tuple(option.index for option in here if option.player == player)
        return
    by_span: dict[int, list[Option]] = defaultdict(list)
    for option in options:
        by_span[option.span].append(option)
    lengths: dict[tuple[int, ...], int] = defaultdict(int)
    for cell in data.cells:
        spans = tuple(index for index in cell.spans if index in by_span)
        if spans and cell.start < wish.end and cell.end > wish.start:
            lengths[spans] += cell.length
    for spans, length in lengths.items():
        for seats in wish.seats:
            taken = tuple(o.index for index in spans for o in by_span[index] if o.player in seats)
            yield data.spans[spans[0]].phrase, length, taken


def costs(data: ProblemData) -> Iterator[Cost]:
    """None in the weighted sum."""
    return iter(())


def shortfalls(data: ProblemData) -> Iterator[Cost]:
    """The first objective: quarter-bars in which a preferred player or family does not have the role, where they could."""
    weight = data.tables.rule(NAME)["weights"]["prefer"]
    for wish in data.wishes:
        if wish.kind == "prefer":
            for phrase, length, options in places(data, wish):
                if options:
                    form = Form(tuple((index, -1) for index in options), 1)
                    yield Cost(NAME, phrase, weight * max(length, 1), (form,), wish.name)


def kept(data: ProblemData, wish: Wish, chosen: Collection[int]) -> float:
    """Share of a direction's quarter-bars, 0 to 1, in which its players have the role; 1 where it is about nothing."""
    rows = [(max(length, 1), any(index in chosen for index in options)) for _, length, options in places(data, wish)]
    return sum(length for length, has in rows if has) / sum(length for length, _ in rows) if rows else 1.0
