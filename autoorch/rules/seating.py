"""The way a section sits: first chairs lead and lie higher, horns 1 and 3 high, 2 and 4 low; inner parts are the second violins'
before the first have any, nobody divides beside a section that could have the other half, the second of a pair plays with the
first and below him, and no later chair moves above the tune of an earlier one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import pairwise

from autoorch.lineup import Player
from autoorch.problem.between import FILLING
from autoorch.problem.data import Cell, Option, ProblemData, Span
from autoorch.problem.divided import is_shared
from autoorch.problem.terms import Cost, Form, Limit, both
from autoorch.rules.balance import heights
from autoorch.rules.spacing import crossings
from autoorch.rules.unary import alone

NAME = "seating"
LEADING = ("melody", "counterline")


def limits(data: ProblemData) -> Iterator[Limit]:
    """None."""
    return iter(())


def costs(data: ProblemData) -> Iterator[Cost]:
    """A few units an option, by seat and height."""
    table = data.tables.rule(NAME)
    weights, horns = table["weights"], list(table["horn_order"])
    for option in data.options:
        player = data.players[option.player]
        seat = _chair(player, horns)
        weight = weights["height"] * seat * max(0, data.mean_pitch(option) // 12 - 3)
        if data.role(option) == "melody":
            weight += weights["first"] * seat
        if data.strands[data.spans[option.span].strand].complete:
            weight += _in_choir(data, option, weights, seat)
        if weight:
            yield alone(NAME, data, option, weight, "out of seating order")
    yield from _passed_over(data, weights["passed_over"], horns)
    yield from _pairs(data, weights)
    for cell in data.cells:
        yield from _over_tune(data, weights["over_tune"], horns, cell)
    for span in data.spans:
        if data.strands[span.strand].role not in LEADING:
            yield from _bowed(data, weights, span)


def _bowed(data: ProblemData, weights: Mapping[str, int], span: Span) -> Iterator[Cost]:
    """Strings in an accompaniment: the first of two like sections in it while the second rests, or below the second; a section
    that divides while its neighbour, who could take part, rests."""
    own: dict[int, list[Option]] = defaultdict(list)
    for option in data.by_span[span.index]:
        if data.players[option.player].instrument.kind == "bowed":
            own[option.player].append(option)
    for first, second in pairwise(sorted(own)):
        one, two = data.players[first], data.players[second]
        if one.instrument.id == two.instrument.id:
            yield _resting(data, weights["second_idle"], span, own[first], second, "the second rests under the first")
            for pitch in sorted({data.mean_pitch(o) for o in own[first]}):
                low = data.groups.any(o.index for o in own[first] if data.mean_pitch(o) == pitch)
                above = [o for o in own[second] if data.mean_pitch(o) > pitch]
                if above:
                    weight = weights["second_above"] * max(data.busy(o) for o in above)
                    high = data.groups.any(o.index for o in above)
                    yield both(NAME, span.phrase, weight, low, high, "the second lies above the first")
        for player, neighbour in ((first, second), (second, first)):
            parts = [o for o in own[player] if is_shared(o)]
            if parts:
                what = "a section is divided beside one that rests"
                yield _resting(data, weights["neighbour_idle"], span, parts, neighbour, what)


def _resting(data: ProblemData, weight: int, span: Span, options: list[Option], player: int, what: str) -> Cost:
    """Any of the options, while a player has nothing in all that time."""
    there = [o.index for o in data.by_player[player] if o.onset < span.end and o.end > span.start]
    terms = ((data.groups.any(o.index for o in options), 1), (data.groups.any(there), -1))
    return Cost(NAME, span.phrase, weight * max(data.busy(o) for o in options), (Form(terms),), what)


def _passed_over(data: ProblemData, weight: int, horns: list[int]) -> Iterator[Cost]:
    """A wind or a string section has a tune that the one before it could have too and has not, or has it in a higher octave."""
    for span in data.spans:
        if not data.is_assigned(span.strand) or data.strands[span.strand].role != "melody":
            continue
        chairs: dict[str, dict[int, list[Option]]] = defaultdict(lambda: defaultdict(list))
        for option in data.by_span[span.index]:
            player = data.players[option.player]
            if player.number and player.instrument.kind in ("wind", "bowed") and not option.instrument:
                chairs[player.instrument.id][_chair(player, horns)].append(option)
        for seats in chairs.values():
            for first, second in pairwise(seats[chair] for chair in sorted(seats)):
                one, two = (data.groups.any(o.index for o in options) for options in (first, second))
                yield Cost(NAME, span.phrase, weight, (Form(((two, 1), (one, -1))),), "a tune that passes a chair over")
                yield from _above(data, span, weight, first, second)


def _above(data: ProblemData, span: Span, weight: int, first: list[Option], second: list[Option]) -> Iterator[Cost]:
    """The second of two chairs has some of a tune's lines higher than the first, or both sections divide in it."""
    for pitch in sorted({data.mean_pitch(o) for o in second}):
        below = [o.index for o in first if data.mean_pitch(o) < pitch]
        if below:
            high = data.groups.any(o.index for o in second if data.mean_pitch(o) == pitch)
            what = "the second chair has a tune above the first"
            yield both(NAME, span.phrase, weight, high, data.groups.any(below), what)
    one, two = ([o.index for o in options if is_shared(o)] for options in (first, second))
    if one and two:
        what = "two like sections are divided in one tune"
        yield both(NAME, span.phrase, weight, data.groups.any(one), data.groups.any(two), what)


def _pairs(data: ProblemData, weights: Mapping[str, int]) -> Iterator[Cost]:
    """Like players that sit in pairs: the second lies above the first where both accompany; of winds the second plays while the
    first rests."""
    pairs = _in_pairs(data)
    for cell in data.cells if pairs else ():
        own: dict[int, list[Option]] = defaultdict(list)
        for option in (option for index in cell.spans for option in data.by_span[index]):
            own[option.player].append(option)
        for one, two in ((own[first], own[second]) for first, second in pairs if own[first] and own[second]):
            if data.players[one[0].player].instrument.kind == "wind":
                first, second = (data.groups.any(o.index for o in options) for options in (one, two))
                weight, form = weights["first_rests"] * cell.length, Form(((second, 1), (first, -1)))
                yield Cost(NAME, cell.phrase, weight, (form,), "the second of a pair plays while the first rests")
            inside = [[o for o in options if data.role(o) in FILLING] for options in (one, two)]
            for low, high in crossings(data, *inside) if all(inside) else ():
                weight = weights["pair_crossed"] * cell.length
                yield both(NAME, cell.phrase, weight, low, high, "the second of a pair above the first")


def _over_tune(data: ProblemData, weight: int, horns: list[int], cell: Cell) -> Iterator[Cost]:
    """A later chair accompanies in motion at the height of the tune that an earlier one of the same instrument has, or above
    it, in whichever octave he has it: by the bars."""
    spans = [data.spans[index] for index in cell.spans]
    for tune in (span for span in spans if data.strands[span.strand].role == "melody"):
        leading = data.by_line.get((tune.index, min(tune.lines)), [])
        for span in (span for span in spans if data.strands[span.strand].role in FILLING):
            for line, profile in span.lines.items():
                apart = heights(data, tune, [profile], cell)
                own: dict[tuple[int, int], list[Option]] = defaultdict(list)
                for option in data.by_line.get((span.index, line), ()) if apart else ():
                    own[option.player, option.octave].append(option)
                for (player, _), later in own.items():
                    earlier = [o for o in leading if _before(data, o.player, player, horns)]
                    yield from _over(data, weight, cell, earlier, later, apart)


def _over(
    data: ProblemData,
    weight: int,
    cell: Cell,
    earlier: list[Option],
    later: list[Option],
    apart: Mapping[float, int],
) -> Iterator[Cost]:
    """Somebody's options in one octave against the tune of earlier chairs. `apart`: semitones by which they lie above it where
    both stand as written -> quarter-bars."""
    lasts: dict[tuple[int, ...], int] = defaultdict(int)
    for above, length in apart.items():
        lasts[tuple(o.index for o in earlier if above + 12 * (later[0].octave - o.octave) >= 0)] += length
    for under, length in lasts.items():
        if under:
            literals = data.groups.any(under), data.groups.any(o.index for o in later)
            what = "a later chair moves above the tune of an earlier one"
            yield both(NAME, cell.phrase, weight * length, *literals, what)


def _before(data: ProblemData, first: int, second: int, horns: list[int]) -> bool:
    """The first player has an earlier chair of the same instrument than the second."""
    one, two = data.players[first], data.players[second]
    return one.instrument.id == two.instrument.id and _chair(one, horns) < _chair(two, horns)


def _in_pairs(data: ProblemData) -> list[tuple[int, int]]:
    """First and second, third and fourth of each wind instrument, first and second section of each of strings."""
    seat = {
        (player.instrument.id, player.number): index
        for index, player in enumerate(data.players)
        if player.instrument.kind in ("wind", "bowed") and player.number
    }
    return [
        (at, seat[name, number + 1]) for (name, number), at in seat.items() if number % 2 and (name, number + 1) in seat
    ]


def _chair(player: Player, horns: list[int]) -> int:
    """From 0: by number, and among horns 1, 3, 2, 4."""
    if player.instrument.id == "horn" and player.number in horns:
        return horns.index(player.number)
    return max(0, player.number - 1)


def _in_choir(data: ProblemData, option: Option, weights: Mapping[str, int], seat: int) -> int:
    """A set of chords keeps the natural order of its instruments from the top down, and of the chairs of each.

    Juxtaposed, overlapping and interlocked layouts are all within half the set of that order, and free; enclosing costs a little.
    """
    strand = data.strands[data.spans[option.span].strand]
    line, count = option.lines[0], len(strand.lines)
    cost = weights["chair"] * seat * (count - 1 - line)
    name = data.instrument(option).id
    if name in strand.families:
        last = len(strand.families) - 1
        ideal = line * last / max(1, count - 1)
        cost += round(weights["choir"] * max(0.0, abs(strand.families.index(name) - ideal) - last / 2))
    return cost
