"""Special ways of playing and other instruments: time to change, one way at a time, and a price on leaving an offer."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from autoorch.layers.colours import GROUPS, group_of
from autoorch.problem.data import Option, ProblemData, Span
from autoorch.problem.divided import HALF
from autoorch.problem.manners import Ways
from autoorch.problem.terms import Cost, Form, Limit, both, missing
from autoorch.rules.unary import alone

NAME = "techniques"
SOLO = "solo"
MUTED = "con_sord"
SHARED = ("inner", "figure", "rhythm")
"""Roles whose lines belong together."""
BARE = ("inner", "rhythm")
ACCOMPANYING = ("figure", "rhythm")
CHORDAL = ("keys", "plucked")
QUARTERS = 4
"""Quarter-bars in a bar: a stray stroke counts for as long."""
WINDS = ("woodwind", "horns")
"""Groups that blend as one."""


@dataclass
class _Hold:
    """One player's options in one span that are played in one way on one instrument; ticks of the first attack, the last
    attack and the last release."""

    span: int
    techniques: tuple[str, ...]
    instrument: str
    options: list[int]
    first: int
    last: int
    end: int

    @property
    def way(self) -> tuple[tuple[str, ...], str]:
        return self.techniques, self.instrument


def _holds(data: ProblemData) -> Iterator[tuple[int, list[_Hold]]]:
    """Each player that has a choice of ways, with his holds by first attack."""
    for number, options in enumerate(data.by_player):
        if all(not o.techniques and not o.instrument for o in options):
            continue
        found: dict[tuple[int, tuple[str, ...], str], _Hold] = {}
        for option in options:
            last = max(profile.notes[-1].onset for profile in data.profiles(option))
            key = (option.span, option.techniques, option.instrument)
            hold = found.setdefault(key, _Hold(*key, [], option.onset, last, option.end))
            hold.options.append(option.index)
            hold.first, hold.last = min(hold.first, option.onset), max(hold.last, last)
            hold.end = max(hold.end, option.end)
        yield number, sorted(found.values(), key=lambda h: (h.first, h.span, h.way))


def limits(data: ProblemData) -> Iterator[Limit]:
    """Who plays one span in one way has time to change before the next one that he plays in another; never both at once. A
    section that is asked to divide over one line has it in two octaves wherever it can."""
    yield from _divided(data)
    for number, holds in _holds(data):
        for place, before in enumerate(holds):
            for after in holds[place + 1 :]:
                if data.spans[after.span].phrase > data.spans[before.span].phrase + 1:
                    break
                if before.way == after.way or before.span == after.span or _in_time(data, number, before, after):
                    continue
                phrase = max(data.spans[before.span].phrase, data.spans[after.span].phrase)
                terms = tuple((data.groups.any(hold.options), 1) for hold in (before, after))
                name = f"time to change/{data.players[number].name}/{data.place(data.spans[after.span])}"
                yield Limit(name, phrase, terms, high=1)


def _divided(data: ProblemData) -> Iterator[Limit]:
    ways = Ways(data.material, data.tables)
    for span in data.spans:
        by_player: dict[int, list[Option]] = defaultdict(list)
        for option in data.by_span[span.index]:
            if len(option.lines) == 1:
                by_player[option.player].append(option)
        for number, options in sorted(by_player.items()):
            player = data.players[number]
            if ways.parts(data.strands[span.strand], span.start, player)[1] == 1:
                continue
            halves = [o for o in options if o.share == HALF]
            for option in options:
                others = [o.index for o in halves if o.octave != option.octave]
                if option.share == HALF or len({o.octave for o in halves}) > 1:
                    terms = (
                        ((option.index, 1), *((k, -1) for k in others))
                        if option.share == HALF
                        else ((option.index, 1),)
                    )
                    yield Limit(f"divided/{player.name}/{data.place(span)}", span.phrase, terms, high=0)


def _in_time(data: ProblemData, player: int, before: _Hold, after: _Hold) -> bool:
    """Seconds between the two are enough for every change that they ask for; another instrument is taken between two bars, since
    a bar has one transposition."""
    if after.first < before.end and (after.first <= before.last or before.techniques == after.techniques):
        return False
    span = data.spans[before.span]
    tick = data.span_ms[before.span] / (1000 * max(1, span.end - span.start))
    rest, attacks = (after.first - before.end) * tick, (after.first - before.last) * tick
    limit = data.tables.rule("limits")
    if before.instrument != after.instrument:
        drums = data.players[player].instrument.family == "percussion"
        if rest < (limit["percussion"] if drums else limit["technique"])["change"]:
            return False
        if not drums and bisect_right(data.bars, before.end - 1) == bisect_right(data.bars, after.first):
            return False
    table = data.tables.rule(NAME)["technique"]
    left = [(technique, "off") for technique in before.techniques if technique not in after.techniques]
    taken = [(technique, "on") for technique in after.techniques if technique not in before.techniques]
    for technique, key in left + taken:
        row = table[technique]
        need = limit["technique"][row[key]] if key in row else 0.0
        if (attacks if row.get("attacks", False) else rest) < need:
            return False
    return True


def costs(data: ProblemData) -> Iterator[Cost]:
    """An option played the ordinary way where the player could do as is offered; an instrument that changes hands; a piano's
    figure taken as it stands, or shared out."""
    weights = data.tables.rule(NAME)["weights"]
    yield from _stations(data, weights["station"])
    yield from _pianistic(data, weights["pianistic"])
    yield from _bare(data, weights["bare"])
    yield from _keyed(data, weights["keyed"])
    for span in data.spans:
        shared = data.is_assigned(span.strand) and data.strands[span.strand].role in SHARED
        if shared and data.plan[span.phrase].at(span.start).dynamic in weights["clear"]:
            yield from _scattered(data, span, weights["scattered"])
    yield from _together(data, weights["alone"])
    yield from _unsung(data, weights["unsung"])
    yield from _mixed(data, weights["mixed"])
    yield from _plain(data, weights["plain"])


def _plain(data: ProblemData, weight: int) -> Iterator[Cost]:
    """In each group of ways (mutes, plucking) the ordinary one where a special one is offered; as much again as for the whole
    phrase where somebody has both in it, so that ways change with phrases."""
    table = data.tables.rule(NAME)["technique"]

    def groups(option: Option) -> set[str]:
        return {table[technique]["group"] for technique in option.techniques if technique != SOLO}

    offered: dict[tuple[int, int, tuple[int, ...]], set[str]] = defaultdict(set)
    for option in data.options:
        offered[option.span, option.player, option.lines] |= groups(option)
    plain: dict[tuple[int, int, str], list[Option]] = defaultdict(list)
    special: dict[tuple[int, int, str], list[Option]] = defaultdict(list)
    for option in data.options:
        left = offered[option.span, option.player, option.lines] - groups(option)
        if left and SOLO not in option.techniques:
            price = weight * len(left) * data.busy(option)
            yield alone(NAME, data, option, price, "not played in the way that is offered")
        for group in left:
            plain[option.player, data.phrase(option), group].append(option)
        for group in groups(option):
            special[option.player, data.phrase(option), group].append(option)
    for place in sorted(plain.keys() & special.keys()):
        spans = {o.span for o in special[place]}
        if len(spans) > 1:
            length = sum(data.spans[index].length for index in spans)
            one, other = (data.groups.any(o.index for o in found[place]) for found in (plain, special))
            yield both(NAME, place[1], weight * length, one, other, "a way of playing changes inside a phrase")


def _stations(data: ProblemData, weight: int) -> Iterator[Cost]:
    """Percussion: an instrument in other hands than those of the one player who has it through the whole cue."""
    own = stations(data)
    for option in data.options:
        player = own.get(data.instrument(option).id, option.player)
        if player != option.player and data.strands[data.spans[option.span].strand].families:
            yield alone(NAME, data, option, weight, "an instrument changes hands")


def stations(data: ProblemData) -> dict[str, int]:
    """Percussion instrument -> the player (index) who has it: the busiest instruments first, each to the player who is least
    often at another one when it sounds, and has fewest."""
    seats: dict[str, set[int]] = defaultdict(set)
    spans: dict[str, set[int]] = defaultdict(set)
    for option in data.options:
        instrument = data.instrument(option)
        if instrument.family == "percussion" and instrument.kind != "timpani":
            seats[instrument.id].add(option.player)
            spans[instrument.id].add(option.span)
    change = 1000 * data.tables.rule("limits")["percussion"]["change"]
    near = {name: [_heard(data, index, change) for index in sorted(rows)] for name, rows in spans.items()}
    found: dict[str, int] = {}
    for name in sorted(seats, key=lambda name: (-len(spans[name]), name)):

        def rank(player: int, name: str = name) -> tuple[int, int, bool, int]:
            others = [other for other in found if found[other] == player]
            clashes = sum(a < d and c < b for a, b in near[name] for other in others for c, d in near[other])
            return clashes, len(others), data.players[player].instrument.id != name, player

        found[name] = min(seats[name], key=rank)
    return found


def _heard(data: ProblemData, index: int, change: float) -> tuple[float, float]:
    """First attack and last release of a span, in ticks, with the time on each side in which nobody can be elsewhere."""
    span = data.spans[index]
    half = change * (span.end - span.start) / (2 * max(1, data.span_ms[index]))
    return min(p.onset for p in span.lines.values()) - half, max(p.end for p in span.lines.values()) + half


def _pianistic(data: ProblemData, weight: int) -> Iterator[Cost]:
    """A figure for a pianist's hand that the strand has in another way too, with anyone but harp and keyboards."""
    for span in data.spans:
        lines = data.strands[span.strand].lines
        again = {s for k, profile in span.lines.items() if lines[k].instead for n in profile.notes for s in n.sources}
        if not again:
            continue
        for option in data.by_span[span.index]:
            plain = any(n.id in again for k in option.lines if not lines[k].reduced for n in span.lines[k].notes)
            if plain and data.instrument(option).kind not in ("keys", "plucked"):
                yield alone(NAME, data, option, weight * data.busy(option), "a piano's figure as it stands")


def _bare(data: ProblemData, weight: int) -> Iterator[Cost]:
    """Single notes of chords or off-beats of the sketch for a harp, which has chords and figures or rests."""
    for option in data.options:
        strand = data.strands[data.spans[option.span].strand]
        if strand.layer != "assigned" or strand.role not in BARE or data.instrument(option).kind != "plucked":
            continue
        if len(option.lines) == 1 or sum(len(p.notes) for p in data.profiles(option)) <= len(option.lines):
            yield alone(NAME, data, option, weight * max(QUARTERS, data.busy(option)), "single notes for a harp")


def _keyed(data: ProblemData, weight: int) -> Iterator[Cost]:
    """In a small line-up with keyboard, harp or guitar: off-beats and figures of the sketch for somebody with one line."""
    if len(data.players) > data.tables.rule("texture")["small"]:
        return
    if all(player.instrument.kind not in CHORDAL for player in data.players):
        return
    for option in data.options:
        strand = data.strands[data.spans[option.span].strand]
        single = data.instrument(option).kind in ("wind", "bowed")
        if single and strand.layer == "assigned" and strand.role in ACCOMPANYING:
            price = weight * len(option.lines) * data.busy(option)
            yield alone(NAME, data, option, price, "what keyboard, harp or guitar have hands for")


def _together(data: ProblemData, weight: int) -> Iterator[Cost]:
    """One player alone on a line, and somebody else on it with him."""
    for (index, _), options in sorted(data.by_line.items()):
        solos: dict[int, list[int]] = defaultdict(list)
        for option in options:
            if SOLO in option.techniques:
                solos[option.player].append(option.index)
        for player, own in solos.items():
            others = [
                o.index for o in options if o.player != player and (SOLO not in o.techniques or o.player > player)
            ]
            if others:
                span = data.spans[index]
                literals = data.groups.any(own), data.groups.any(others)
                yield both(NAME, span.phrase, weight * span.length, *literals, "somebody plays along with a solo")


def _unsung(data: ProblemData, weight: int) -> Iterator[Cost]:
    """A tune that is offered to one player of a section, with nobody alone on it."""
    for span in data.spans:
        solos = [o for o in data.by_span[span.index] if SOLO in o.techniques]
        ordinary = {o.player for o in data.by_span[span.index] if SOLO not in o.techniques}
        if any(o.player in ordinary for o in solos):
            literals = [o.index for o in solos]
            yield missing(NAME, span.phrase, weight * span.length, literals, "a tune for a solo that nobody has alone")


def _mixed(data: ProblemData, weight: int) -> Iterator[Cost]:
    """Strings with mutes and strings without in a phrase that offers mutes."""
    muted: dict[int, list[int]] = defaultdict(list)
    for option in data.options:
        if MUTED in option.techniques:
            muted[data.phrase(option)].append(option.index)
    for phrase, options in sorted(muted.items()):
        able = {data.options[index].player for index in options}
        bare = [
            o.index
            for player in sorted(able)
            for o in data.by_player[player]
            if data.phrase(o) == phrase and MUTED not in o.techniques
        ]
        if bare:
            length = max(data.spans[data.options[index].span].length for index in options)
            literals = data.groups.any(options), data.groups.any(bare)
            yield both(NAME, phrase, weight * length, *literals, "some are muted and others are not")


def _scattered(data: ProblemData, span: Span, weight: int) -> Iterator[Cost]:
    """Strings, winds or brass have some lines of chords, a figure or off-beats and leave others of it to other groups."""
    own = [k for k in span.lines if not data.strands[span.strand].lines[k].reduced]
    families: dict[str, dict[int, list[int]]] = defaultdict(lambda: defaultdict(list))
    length = max((data.busy(option) for option in data.by_span[span.index]), default=0)
    for option in data.by_span[span.index]:
        group = group_of(data.players[option.player].instrument)
        if group in GROUPS:
            for line in option.lines:
                families["winds" if group in WINDS else group][line].append(option.index)
    for name, by_line in families.items():
        if not any(by_line.get(line) for line in own):
            continue
        taken = data.groups.any(index for line in own for index in by_line.get(line, ()))
        covers = [data.groups.any(by_line[line]) if by_line.get(line) else None for line in own]
        forms = tuple(Form(((taken, 1), (one, -1)) if one is not None else ((taken, 1),)) for one in covers)
        if len(own) > 1:
            yield Cost(NAME, span.phrase, weight * length, forms, f"the {name} have a part of chords or a figure only")
