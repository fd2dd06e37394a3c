"""Tremolos between two notes: each of the two is written with the value of both, as is common practice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from autoorch.score.model import Event

START, STOP = "tremolo-start-", "tremolo-stop-"
HALF_TIME = (2, 1)
"""Two notes in the time of one."""
_DOUBLE = {"16th": "eighth", "eighth": "quarter", "quarter": "half", "half": "whole", "whole": "breve"}


def is_pair(mark: str) -> bool:
    """One of the two signs of such a tremolo."""
    return mark.startswith((START, STOP))


def doubled(events: Sequence[Event]) -> list[Event]:
    """A voice of a bar with its tremolos between two notes; signs that find no partner of the same length are taken off."""
    found = list(events)
    place = 0
    while place < len(found):
        one = found[place]
        two = found[place + 1] if place + 1 < len(found) else None
        if two is not None and _fit(one, two):
            for k, event in ((place, one), (place + 1, two)):
                value = _DOUBLE[event.value]
                found[k] = replace(event, value=value, tuplet=(*HALF_TIME, value), beams=())
            place += 2
            continue
        if any(map(is_pair, one.marks)):
            found[place] = replace(one, marks=tuple(mark for mark in one.marks if not is_pair(mark)))
        place += 1
    return found


def _fit(one: Event, two: Event) -> bool:
    """The two make a tremolo."""
    signs = any(m.startswith(START) for m in one.marks) and any(m.startswith(STOP) for m in two.marks)
    alike = (one.duration, one.value, one.dots) == (two.duration, two.value, two.dots) and one.value in _DOUBLE
    tied = any(head.tie_start or head.tie_stop for event in (one, two) for head in event.heads)
    beams = (one.beams[:1], two.beams[:1]) in (((), ()), (("begin",), ("end",)))
    return signs and alike and not tied and beams and one.tuplet is None and two.tuplet is None
