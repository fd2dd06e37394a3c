"""The players' own pages: a part is a score of one player or section, with what everybody must know, long rests written as
one, cues before entries and page turns in rests. A percussionist's staves make one part together.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from autoorch.score.cues import Cues, beside
from autoorch.score.model import Direction, Measure, Part, Score
from autoorch.score.notation import Notation
from autoorch.sketch.model import Bar


def parts_of(score: Score) -> tuple[Score, ...]:
    """One score a player or section, in score order, named in its heading. Bar numbers and letters are the score's."""
    found: dict[str, list[Part]] = {}
    for part in score.parts:
        found.setdefault(part.seat, []).append(part)
    top = [tuple(d for d in measure.directions if d.everybody) for measure in score.parts[0].measures]
    cues = Cues(score)
    return tuple(_own(score, name, own, top, cues) for name, own in found.items())


def _own(score: Score, name: str, own: Sequence[Part], top: Sequence[tuple[Direction, ...]], cues: Cues) -> Score:
    """The part of one player."""
    first, *others = own
    head = replace(
        first,
        measures=tuple(
            replace(m, directions=(*told, *(d for d in m.directions if not d.everybody)))
            for m, told in zip(first.measures, top, strict=True)
        ),
    )
    if not any(event.heads for staff in own for m in staff.measures for voice in m.voices for event in voice):
        head = _silent(head, score.house)
    heading = first.name if first.player.name == name else name
    staves = (cues.given(head, others), *others)
    page = _turned(score.house, score.bars, _joined(score.bars, beside(staves)))
    found = tuple(
        replace(
            staff,
            measures=tuple(
                replace(measure, rests=own.rests, turn=own.turn and staff is staves[0])
                for measure, own in zip(staff.measures, page, strict=True)
            ),
        )
        for staff in staves
    )
    return replace(score, parts=found, heading=heading)


def _silent(part: Part, house: Notation) -> Part:
    """The part of a player who has nothing to play, which says so."""
    opening, *others = part.measures
    word = Direction("words", 0, house.first_page["tacet"])
    return replace(part, measures=(replace(opening, directions=(*opening.directions, word)), *others))


def _joined(bars: Sequence[Bar], measures: Sequence[Measure]) -> tuple[Measure, ...]:
    """Silent bars that follow each other become one long rest, up to the next thing that everybody must see."""
    found = list(measures)
    start = 0
    while start < len(found):
        end = start
        while end < len(found) and _rests(bars, found, start, end):
            end += 1
        if end - start > 1:
            found[start] = replace(found[start], rests=end - start)
        start = max(end, start + 1)
    return tuple(found)


def _rests(bars: Sequence[Bar], measures: Sequence[Measure], start: int, index: int) -> bool:
    """Bar `index` can belong to a long rest that begins with bar `start`."""
    measure, bar = measures[index], bars[index]
    silent = all(not e.heads and not e.marks and not e.value for voice in measure.voices for e in voice)
    if not silent or bar.fermata:
        return False
    if index == start:
        return True
    before = bars[index - 1]
    same = (bar.metre, bar.fifths) == (before.metre, before.fifths) and not (bar.endings or before.endings)
    closed = before.repeat_end or bar.repeat_start or before.barline
    return same and not closed and not measure.directions and not measure.clefs


def _turned(house: Notation, bars: Sequence[Bar], measures: Sequence[Measure]) -> tuple[Measure, ...]:
    """Page turns before or after rests, where the estimate of a page is nearly full."""
    room = house.pages["system"] * house.pages["systems"]
    found = list(measures)
    weights = list(_weights(house, measures))
    start = 0
    while sum(weights[start:]) > room:
        end, filled = start, 0.0
        while filled + weights[end] <= room:
            filled += weights[end]
            end += 1
        places = [k for k in range(start + (end - start) // 2, end + 1) if _turn(house, measures, weights, k)]
        if places:
            end = places[-1]
            found[end] = replace(found[end], turn=True)
        start = max(end, start + 1)
    return tuple(found)


def _weights(house: Notation, measures: Sequence[Measure]) -> Iterator[float]:
    """How much room each bar takes; bars inside a long rest take none."""
    hidden = 0
    for measure in measures:
        if hidden:
            hidden -= 1
            yield 0.0
            continue
        hidden = max(0, measure.rests - 1)
        yield house.pages["bar"] + max(len(voice) for voice in measure.voices)


def _turn(house: Notation, measures: Sequence[Measure], weights: Sequence[float], index: int) -> bool:
    """The page may be turned before bar `index`: a rest long enough ends or begins there, and no long rest is cut."""
    if not 0 < index < len(measures) or not weights[index]:
        return False
    long = int(house.pages["turn_bars"])
    before, after = measures[max(0, index - long) : index], measures[index : index + long]
    return any(len(rest) == long and all(map(_idle, rest)) for rest in (before, after))


def _idle(measure: Measure) -> bool:
    """The player has nothing to play."""
    return all(not e.heads or e.cue for voice in measure.voices for e in voice)
