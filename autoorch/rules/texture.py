"""How much sounds: as many parts as the plan's weight asks for, no higher and no lower than its dynamic usually has them; added
chords in complete sets or not at all."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from math import ceil

from autoorch.layers.model import SHARED
from autoorch.problem.data import Cell, ProblemData
from autoorch.problem.divided import HALF
from autoorch.problem.profile import Profile
from autoorch.problem.terms import Cost, Limit, missing, over, under
from autoorch.roles.patterns import BROKEN
from autoorch.rules.unary import alone

NAME = "texture"
OFFERED = {"finish": "colour", "counterline": "line", "melody": "colour"}
"""Layer whose strands are wanted wherever they are offered -> its weight."""
COUNTED = ("woodwind", "brass", "strings")


def limits(data: ProblemData) -> Iterator[Limit]:
    """A set sounds whole or not at all, each of its lines by one player; of the figures offered in a phrase one at most; where a
    touch goes on over a joint, who has its end has had its beginning."""
    yield from _over_joints(data)
    for phrase, firsts in _figures(data):
        name = f"one figure/phrase from {data.bar_name.get(data.plan[phrase].start, '?')}"
        yield Limit(name, phrase, tuple((index, 1) for index in firsts), high=1)
    for span in data.spans:
        strand = data.strands[span.strand]
        if not strand.complete:
            continue
        lines = list(span.lines)
        first = data.by_line.get((span.index, lines[0]), [])
        for line in lines:
            options = data.by_line.get((span.index, line), [])
            name = f"complete set/{strand.id}/{data.place(span)}"
            yield Limit(name, span.phrase, tuple((o.index, 1) for o in options), high=1)
            if line != lines[0]:
                terms = tuple((o.index, 1) for o in options) + tuple((o.index, -1) for o in first)
                yield Limit(name, span.phrase, terms, low=0, high=0)


def _over_joints(data: ProblemData) -> Iterator[Limit]:
    last: dict[tuple[int, int], dict[int, list[int]]] = {}
    for span in data.spans:
        strand = data.strands[span.strand]
        if not strand.complete or strand.layer != "finish":
            continue
        for line in span.lines:
            own: dict[int, list[int]] = defaultdict(list)
            for option in data.by_line.get((span.index, line), []):
                own[option.player].append(option.index)
            if (begun := last.get((span.strand, line))) is not None:
                for player, options in own.items():
                    terms = (*((k, 1) for k in options), *((k, -1) for k in begun.get(player, ())))
                    yield Limit(f"begun/{strand.id}/{data.place(span)}", span.phrase, terms, high=0)
            last[span.strand, line] = own


def _figures(data: ProblemData) -> Iterator[tuple[int, list[int]]]:
    """Phrase -> for each figure that is offered in it the options on its first line."""
    found: dict[int, list[int]] = defaultdict(list)
    for span in data.spans:
        if data.strands[span.strand].layer == "accompaniment":
            found[span.phrase] += [o.index for o in data.by_line.get((span.index, min(span.lines)), ())]
    yield from ((phrase, options) for phrase, options in sorted(found.items()) if options)


def counted(data: ProblemData) -> set[int]:
    """Players that count for the planned weight."""
    return {number for number, player in enumerate(data.players) if player.instrument.family in COUNTED}


def wanted(data: ProblemData, phrase: int, players: int, tick: int) -> tuple[int, int]:
    """(fewest, most) half parts that the plan wants to sound at a tick of a phrase.

    Around its weight, in small line-ups at least that, not below the repertoire's thinnest tenth at the dynamic unless it is
    planned so; where it leaves the colours open, whatever is within the repertoire's 10 to 90 %.
    """
    table, plan = data.tables.rule(NAME), data.plan[phrase].at(tick)
    least = min(players, table["least"])
    low, high = plan.weight - table["tolerance"], plan.weight + table["tolerance"]
    if players <= table["small"]:
        return max(2 * least, 2 * round(players * low)), 2 * players
    share = table["active_share"][plan.dynamic]
    if not plan.lead:
        low, high = min(low, share[0]), max(high, share[-1])
    elif plan.weight > share[0]:
        least = max(least, ceil(players * share[0]))
    fewest = max(2 * least, 2 * round(players * low))
    return fewest, max(fewest, 2 * round(players * high))


def sounding(cell: Cell, profiles: Iterable[Profile]) -> int:
    """Ticks of a cell in which any of the lines sounds."""
    notes = sorted((note.onset, note.end) for profile in profiles for note in profile.notes)
    ticks, last = 0, cell.start
    for onset, end in notes:
        ticks += max(0, min(end, cell.end) - max(onset, last))
        last = max(last, end)
    return ticks


def enough(data: ProblemData, cell: Cell) -> tuple[float, float]:
    """Shares of the time for which a player has to sound to count where it could be too thin, and where it could be too full: in
    the thinnest phrase short notes fill nothing, but they are one more who plays."""
    table, plan = data.tables.rule(NAME), data.plan[cell.phrase].at(cell.start)
    usual: float = table["enough_full" if plan.scheme in table["full"] else "enough"]
    thinnest = plan.lead and plan.weight <= table["active_share"][plan.dynamic][0]
    return usual, table["enough_thin"] if thinnest else usual


def parts(data: ProblemData, cell: Cell, players: Collection[int], least: float) -> Iterator[tuple[int, int]]:
    """(option, half parts that it adds to a cell), where it sounds for at least such a share of the time."""
    total = sounding(cell, (profile for index in cell.spans for profile in data.spans[index].lines.values()))
    known: dict[tuple[int, tuple[int, ...]], int] = {}
    for index in cell.spans:
        for option in data.by_span[index]:
            if option.player not in players:
                continue
            key = index, option.lines
            if key not in known:
                known[key] = sounding(cell, data.profiles(option))
            if known[key] >= least * total > 0:
                yield option.index, max(1, option.share // HALF)


def costs(data: ProblemData) -> Iterator[Cost]:
    """Parts sounding per cell, in half parts (half a section or less counts half); and a small price on added sets."""
    weights = data.tables.rule(NAME)["weights"]
    players = counted(data)
    for cell in data.cells:
        for_thin, for_full = enough(data, cell)
        terms = tuple(parts(data, cell, players, for_thin))
        terms_full = terms if for_full == for_thin else tuple(parts(data, cell, players, for_full))
        fewest, most = wanted(data, cell.phrase, len(players), cell.start)
        thin = weights["thin" if data.plan[cell.phrase].lead else "rare"] * cell.length
        if terms:
            yield under(NAME, cell.phrase, thin, terms, fewest, "thinner than planned")
        if terms_full:
            yield over(NAME, cell.phrase, weights["thick"] * cell.length, terms_full, most, "thicker than planned")
    yield from _resting(data, players)
    for phrase, options in _figures(data):
        length = max(data.spans[data.options[index].span].length for index in options)
        yield missing(
            NAME, phrase, weights["motion"] * length, options, "chords without motion where the plan wants it"
        )
    yield from _beneath(data, weights["beneath"])
    yield from _beyond(data, weights["beyond"])
    for span in data.spans:
        layer = data.strands[span.strand].layer
        if data.strands[span.strand].texture == SHARED:
            continue
        if layer in OFFERED and data.by_span[span.index]:
            literals = [o.index for o in data.by_span[span.index]]
            yield missing(
                NAME,
                span.phrase,
                weights[OFFERED[layer]] * span.length,
                literals,
                "a colour that the plan offers is left out",
            )
        elif layer != "assigned":
            terms = tuple((o.index, 1) for o in data.by_span[span.index])
            if terms:
                yield over(NAME, span.phrase, weights["set"] * span.length, terms, 0, "added notes")


def _resting(data: ProblemData, players: Collection[int]) -> Iterator[Cost]:
    """Players who rest through a whole loud phrase, beyond the repertoire's share of them."""
    table = data.tables.rule(NAME)
    if len(players) <= table["small"]:
        return
    found: dict[int, dict[int, list[int]]] = defaultdict(lambda: defaultdict(list))
    for option in data.options:
        if option.player in players:
            found[data.phrase(option)][option.player].append(option.index)
    for phrase, by_player in sorted(found.items()):
        plan = data.plan[phrase]
        fewest = round(len(players) * table["taking_part"].get(plan.dynamic, 0))
        if fewest and not plan.lead:
            terms = tuple((data.groups.any(options), 1) for options in by_player.values())
            weight = table["weights"]["idle"] * (plan.end - plan.start) // data.ticks
            yield under(NAME, phrase, weight, terms, fewest, "players rest through a loud phrase")


def _beyond(data: ProblemData, weight: int) -> Iterator[Cost]:
    """In an orchestra who plays higher than the highest notes of nine tenths of the repertoire at the dynamic, or lower than its
    lowest: by the time that he does."""
    table = data.tables.rule(NAME)
    if not {player.instrument.family for player in data.players}.issuperset(table["beyond"]["families"]):
        return
    for option in data.options:
        band = table["band"][table["beyond"]["band"][data.dynamic(option)]]
        high, low = band["top"][-1] - 12 * option.octave, band["bot"][0] - 12 * option.octave
        weights = [entry for profile in data.profiles(option) for entry in profile.weights]
        steps = sum(time * ceil(max(0, pitch - high, low - pitch) / table["beyond"]["step"]) for pitch, time in weights)
        if amount := round(weight * steps * data.busy(option) / max(1, sum(time for _, time in weights))):
            yield alone(NAME, data, option, amount, "beyond what orchestras reach at the dynamic")


def _beneath(data: ProblemData, weight: int) -> Iterator[Cost]:
    """A broken chord over nothing that holds, where the sketch holds nothing itself and somebody could hold the chords."""
    held: dict[int, list[int]] = defaultdict(list)
    broken: dict[int, int] = {}
    sustained = set()
    for span in data.spans:
        strand = data.strands[span.strand]
        if strand.layer == "harmony":
            held[span.phrase] += [o.index for o in data.by_line.get((span.index, min(span.lines)), ())]
        elif strand.layer == "assigned" and strand.role in ("inner", "pedal"):
            sustained.add(span.phrase)
        elif strand.layer == "assigned" and strand.texture in BROKEN:
            broken[span.phrase] = broken.get(span.phrase, 0) + span.length
    for phrase, length in sorted(broken.items()):
        if held[phrase] and phrase not in sustained:
            yield missing(NAME, phrase, weight * length, held[phrase], "a broken chord with nothing held beneath")
