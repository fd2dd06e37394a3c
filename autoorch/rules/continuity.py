"""Colour holds: who enters or leaves a strand inside a phrase costs, and a little who enters it inside a section or, with chords
and figures, where the plan turns; nothing where the answer to a subject begins. Who hands the tune on finishes on the
first note of who takes it over, where it leads there; who comes in has more to play than a few notes."""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from autoorch.layers.model import SHARED
from autoorch.problem.data import Option, ProblemData, Span
from autoorch.problem.terms import Cost, Form, Limit, both, differ

NAME = "continuity"
ACCENTS = ("bass", "finish")
"""Layers whose few notes are meant: landings of the bass, touches."""
_Take = tuple[int, tuple[int, ...], int, int, str, tuple[str, ...]]


def limits(data: ProblemData) -> Iterator[Limit]:
    """A shared note is for who has had the tune up to it, as he has had it."""
    for span, before, _ in _shared(data):
        had = {_way(data.options[index]): index for index in before}
        for option in data.by_span[span.index]:
            terms = [(option.index, 1)] + [(had[way], -1) for way in [_way(option)] if way in had]
            yield Limit(f"shared note/{data.place(span)}/{option.index}", span.phrase, tuple(terms), high=0)


def costs(data: ProblemData) -> Iterator[Cost]:
    """Neighbouring spans of one strand: in one phrase the same players, lines and octaves; in one section, and where more or
    fewer are planned from there on, the same players."""
    weights = data.tables.rule(NAME)["weights"]
    weight = weights["change"]
    yield from _short(data, weights["short"])
    yield from _scraps(data, data.tables.rule(NAME))
    for spans in data.strand_spans:
        for first, second in _around(data, spans, data.tables.rule(NAME)["scrap_notes"]):
            yield from _breaks(data, first, second, weights["octave"])
        for first, second in itertools.pairwise(spans):
            if (data.strands[second.strand].id, second.start) in data.material.answers:
                continue
            if first.phrase == second.phrase and data.strands[second.strand].role == "melody":
                yield from _breaks(data, first, second, weights["octave"])
                yield from _moved(data, first, second, weights["octave"])
                yield from _exchanged(data, first, second, weights["exchange"])
            if first.phrase != second.phrase or _turns(data, second):
                if data.plan[first.phrase].section == data.plan[second.phrase].section and first.end == second.start:
                    yield from _entries(data, first, second, weights["enter"])
                continue
            before, after = _takes(data, first), _takes(data, second)
            for take in sorted(before.keys() | after.keys()):
                x, y = before.get(take), after.get(take)
                if x is not None and y is not None:
                    yield differ(NAME, first.phrase, weight, x, y, "a change of colour inside a phrase")
                else:
                    only = x if x is not None else y
                    assert only is not None
                    yield Cost(NAME, first.phrase, weight, (Form(((only, 1),)),), "a change of colour inside a phrase")


def _around(data: ProblemData, spans: Sequence[Span], few: int) -> Iterator[tuple[Span, Span]]:
    """What a tune's phrase has on either side of a few notes that are cut out of it."""
    for first, between, second in zip(spans, spans[1:], spans[2:], strict=False):
        short = all(len({n.onset for n in profile.notes}) <= few for profile in between.lines.values())
        if first.phrase == second.phrase and short and data.strands[second.strand].role == "melody":
            yield first, second


def _turns(data: ProblemData, span: Span) -> bool:
    """The plan has more or fewer play from here on: chords and figures change hands, the outer lines go through; or somebody is
    to join the tune."""
    role = data.strands[span.strand].role
    turns = [turn for turn in data.plan[span.phrase].turns if turn.start == span.start]
    return any(role == "melody" if turn.tune else role not in ("melody", "bass") for turn in turns)


def _breaks(data: ProblemData, first: Span, second: Span, weight: int) -> Iterator[Cost]:
    """A player goes on with the tune in another octave than he had it in."""
    before, after = _players(data, first), _players(data, second)
    for player in sorted(before.keys() & after.keys()):
        octaves = {data.options[k].octave for k in before[player]}
        for octave in sorted(octaves):
            had = [k for k in before[player] if data.options[k].octave == octave]
            other = [k for k in after[player] if data.options[k].octave != octave]
            if other:
                ends = data.groups.any(had), data.groups.any(other)
                yield both(NAME, second.phrase, weight, *ends, "the tune breaks into another octave inside its phrase")


def _moved(data: ProblemData, first: Span, second: Span, weight: int) -> Iterator[Cost]:
    """The tune goes on in an octave in which nobody had it, or where more octaves are planned is left in one that it had."""
    line = min(first.lines)
    if line not in second.lines:
        return
    plan = data.plan[first.phrase]
    more = plan.at(second.start).octaves > plan.at(first.start).octaves
    gone, stays = (second, first) if more else (first, second)
    octaves = {o.octave for o in data.by_line.get((stays.index, line), ())}
    for octave in sorted(octaves):
        has, had = (data.sounding(span.index, line, octave) for span in (stays, gone))
        assert has is not None
        terms = ((has, 1),) if had is None else ((has, 1), (had, -1))
        yield Cost(NAME, second.phrase, weight, (Form(terms),), "the tune goes into another octave inside its phrase")


def _exchanged(data: ProblemData, first: Span, second: Span, weight: int) -> Iterator[Cost]:
    """A player leaves the tune where the plan only has others join it, or joins it where the plan has others leave."""
    plan = data.plan[first.phrase]
    before, after = plan.at(first.start), plan.at(second.start)
    if after.doublers == before.doublers or after.lead != before.lead:
        return
    stays, others = (first, second) if after.doublers > before.doublers else (second, first)
    had, has = _players(data, stays), _players(data, others)
    what = "another joins the tune" if stays == second else "one leaves the tune"
    for player, options in had.items():
        terms = [(data.groups.any(options), 1)]
        if player in has:
            terms.append((data.groups.any(has[player]), -1))
        yield Cost(NAME, second.phrase, weight, (Form(tuple(terms)),), what)


def _scraps(data: ProblemData, table: Mapping[str, Any]) -> Iterator[Cost]:
    """A player comes in for a few notes of less than a bar and has nothing right before or after them; an accent that the plan
    declares, or a touch, is none."""
    for options in data.by_player:
        lasting = [o for o in options if data.strands[data.spans[o.span].strand].layer not in ACCENTS]
        for option in lasting:
            near = _bar(data, option.onset)
            if not _scrap(data, option, near, table["scrap_notes"]):
                continue
            beside = [
                other
                for other in lasting
                if other.span != option.span and other.onset < option.end + near and other.end > option.onset - near
            ]
            phrase = max(data.phrase(one) for one in (option, *beside))
            form = Form(((option.index, 1), *((other.index, -1) for other in beside)))
            yield Cost(NAME, phrase, table["weights"]["scrap"], (form,), "comes in for a few notes")


def _scrap(data: ProblemData, option: Option, bar: int, most: int) -> bool:
    """It has few notes, in less than a bar, and no turn of the plan has them."""
    kind = data.players[option.player].instrument.kind
    span = data.spans[option.span]
    turned = any(turn.start == span.start for turn in data.plan[span.phrase].turns)
    if kind not in ("wind", "bowed") or turned or option.end - option.onset > bar:
        return False
    return len({n.onset for profile in data.profiles(option) for n in profile.notes if n.duration}) <= most


def _bar(data: ProblemData, tick: int) -> int:
    """Ticks of the bar at a tick."""
    after = bisect_right(data.bars, tick)
    if after < len(data.bars):
        return data.bars[after] - data.bars[after - 1]
    return max(1, data.plan[-1].end - data.bars[-1])


def _entries(data: ProblemData, first: Span, second: Span, weight: int) -> Iterator[Cost]:
    """A player has the second span who did not have the first."""
    before, after = _players(data, first), _players(data, second)
    for player, options in after.items():
        terms = [(data.groups.any(options), 1)]
        if player in before:
            terms.append((data.groups.any(before[player]), -1))
        yield Cost(NAME, second.phrase, weight, (Form(tuple(terms)),), "another player inside a section")


def _shared(data: ProblemData) -> Iterator[tuple[Span, list[int], list[int]]]:
    """Each span of a shared note, with the options of those who have the tune up to it and of those who have it from there on."""
    tunes = [s for s in data.spans if data.is_assigned(s.strand) and data.strands[s.strand].role == "melody"]
    for span in data.spans:
        if data.strands[span.strand].texture == SHARED:
            tick = span.lines[0].onset
            ends = [s for s in tunes if s.end == tick]
            goes_on = [s for s in tunes if s.start == tick]
            before, after = (
                [o.index for s in found for o in data.by_line.get((s.index, min(s.lines)), ())]
                for found in (ends, goes_on)
            )
            if before and after:
                yield span, before, after


def _way(option: Option) -> tuple[int, int, int, str, tuple[str, ...]]:
    return option.player, option.octave, option.share, option.instrument, option.techniques


def _short(data: ProblemData, weight: int) -> Iterator[Cost]:
    """A player who has the tune stops before the note that it leads to, and could have had it."""
    for span, before, after in _shared(data):
        for player in sorted({option.player for option in data.by_span[span.index]}):
            own = [k for k in before if data.options[k].player == player]
            ends = [o.index for o in data.by_span[span.index] if o.player == player]
            ends += [k for k in after if data.options[k].player == player]
            if own:
                form = Form(((data.groups.any(own), 1), (data.groups.any(ends), -1)))
                yield Cost(NAME, span.phrase, weight, (form,), "the tune stops short of the note it leads to")


def _players(data: ProblemData, span: Span) -> dict[int, list[int]]:
    """Player -> his options."""
    found: dict[int, list[int]] = {}
    for option in data.by_span[span.index]:
        found.setdefault(option.player, []).append(option.index)
    return found


def _takes(data: ProblemData, span: Span) -> dict[_Take, int]:
    return {
        (o.player, o.lines, o.octave, o.share, o.instrument, o.techniques): o.index for o in data.by_span[span.index]
    }
