"""Pairs of like wind players on one staff: "1." and "2." where one plays, "a2" where both play the same, one stem where
they move together, two voices where they don't.

Like players are joined two by two as they sit (Flutes 1 and 2; Horns 1 and 2, 3 and 4); whoever is left keeps a staff.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from autoorch.score.clefs import set_clefs
from autoorch.score.marks import Placed
from autoorch.score.merge import dynamics, marks_of, wedges
from autoorch.score.model import Event, Measure, Part, Score
from autoorch.score.page import Page
from autoorch.score.streams import Grid

FAMILIES = ("woodwind", "brass")
APART = 3
"""What is added to the numbers of the second player's slurs, so that they stay apart from the first one's."""
FIRST, SECOND, BOTH, EACH = "1.", "2.", "a2", "1.2."
"""Who plays; written with the players' own numbers."""


def paired(score: Score) -> Score:
    """The score with pairs of like players on one staff each."""
    found: list[Part] = []
    for _, group in groupby(score.parts, key=lambda part: (part.player.group, part.player.instrument.id)):
        own = list(group)
        while own:
            two = len(own) > 1 and all(_pairs(part) for part in own[:2])
            found.append(_joined(score, own[0], own[1]) if two else own[0])
            del own[: 1 + two]
    return replace(score, parts=tuple(replace(part, id=f"P{k}") for k, part in enumerate(found, 1)))


def _pairs(part: Part) -> bool:
    """A wind player with one instrument."""
    return part.player.instrument.family in FAMILIES and not part.player.doubles and part.player.number > 0


def _joined(score: Score, one: Part, two: Part) -> Part:
    """Two players on one staff, named by both numbers."""
    found: list[Measure] = []
    words: list[Placed] = []
    said, silent = "", 0
    seats = one.player.number, two.player.number
    names = {FIRST: f"{seats[0]}.", SECOND: f"{seats[1]}.", BOTH: BOTH, EACH: f"{seats[0]}.{seats[1]}."}
    for run in _runs(one.measures, two.measures):
        pairs = [(one.measures[k], two.measures[k]) for k in run]
        together = all(_alike(a, b) for a, b in pairs)
        for a, b in pairs:
            made, who = _together(a, b) if together else _apart(a, b)
            if who and (who != said or silent >= score.house.dynamics["again_after_bars"]):
                words.append(Placed(score.bars[len(found)].onset + _first(made), "words", names[who]))
            said, silent = (who, 0) if who else (said, silent + 1)
            found.append(made)
    marks = [*marks_of(one, score, False), *marks_of(two, score, False)]
    others = dict.fromkeys(mark for mark in marks if mark.kind not in ("dynamic", "wedge"))
    top = marks_of(one, score, True)
    page = Page(one.player, Grid(score.ticks, 1, score.bars), score.house)
    inside = page.placed([*top, *words, *others, *dynamics(marks), *wedges(marks)])
    measures = tuple(replace(m, directions=tuple(own)) for m, own in zip(found, inside, strict=True))
    name, short = (text.rpartition(" ")[0] for text in (one.name, one.short))
    return set_clefs(
        replace(one, name=f"{name} {seats[0]}.{seats[1]}", short=f"{short} {seats[0]}.{seats[1]}", measures=measures),
        score.house,
    )


def _runs(one: Sequence[Measure], two: Sequence[Measure]) -> Iterator[range]:
    """Bars that ties or slurs of either player hold together: one way of writing for each run."""
    start, open_ = 0, 0
    for k, both in enumerate(zip(one, two, strict=True)):
        tied = False
        for measure in both:
            for voice in measure.voices:
                open_ += sum(len(e.slur_starts) - len(e.slur_stops) for e in voice)
                tied |= bool(voice) and any(head.tie_start for head in voice[-1].heads)
        if not tied and not open_:
            yield range(start, k + 1)
            start = k + 1
    if start < len(one):
        yield range(start, len(one))


def _alike(a: Measure, b: Measure) -> bool:
    """The two move together (or one of them rests): one voice can hold both."""
    if len(a.voices) > 1 or len(b.voices) > 1:
        return False
    if _rests(a) or _rests(b):
        return True
    return len(a.voices[0]) == len(b.voices[0]) and all(map(_same, a.voices[0], b.voices[0]))


def _same(a: Event, b: Event) -> bool:
    """Two events can share a stem."""
    blank = {"heads": (), "lyric": ""}
    return replace(a, **blank) == replace(b, **blank) and bool(a.heads) == bool(b.heads) and _tied(a) == _tied(b)  # type: ignore[arg-type]


def _tied(event: Event) -> set[tuple[bool, bool]]:
    return {(head.tie_start, head.tie_stop) for head in event.heads}


def _rests(measure: Measure) -> bool:
    return not any(event.heads for voice in measure.voices for event in voice)


def _together(a: Measure, b: Measure) -> tuple[Measure, str]:
    """One voice, and what says who plays: "" where nobody does."""
    if _rests(b):
        return a, "" if _rests(a) else FIRST
    if _rests(a):
        return replace(b, clefs=a.clefs), SECOND
    pairs = list(zip(a.voices[0], b.voices[0], strict=True))
    if all(_pitches(x) == _pitches(y) for x, y in pairs):
        return a, BOTH
    return replace(a, voices=(tuple(_chord(x, y) for x, y in pairs),)), EACH


def _apart(a: Measure, b: Measure) -> tuple[Measure, str]:
    """Two voices."""
    if _rests(a) and _rests(b):
        return a, ""
    lower = tuple(
        replace(
            event,
            slur_starts=tuple(n + APART for n in event.slur_starts),
            slur_stops=tuple(n + APART for n in event.slur_stops),
        )
        for event in b.voices[0]
    )
    return replace(a, voices=(a.voices[0], lower), staff_of=(1, 1)), EACH


def _pitches(event: Event) -> list[int]:
    return [head.sounding.midi for head in event.heads]


def _chord(a: Event, b: Event) -> Event:
    """Both players' notes under one stem; a note that both have stands once."""
    heads = {head.sounding.midi: head for head in (*b.heads, *a.heads)}
    return replace(a, heads=tuple(heads[midi] for midi in sorted(heads)))


def _first(measure: Measure) -> int:
    return min(event.onset for voice in measure.voices for event in voice if event.heads)
