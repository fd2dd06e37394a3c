"""Where a phrase grows or falls inside: its dynamics as they settle, and the places from which the plan is another there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from autoorch.instruments import DYNAMICS
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch.model import Sketch, SketchNote

OCTAVE = 12
Level = tuple[int, int]
"""(tick, index into DYNAMICS) from which a dynamic holds."""


def find_levels(sketch: Sketch, reading: Reading, table: Mapping[str, Any]) -> list[tuple[Level, ...]]:
    """For each phrase the dynamics that it has, the first from its start; those after it are its turns.

    Marks inside it count, and the middle of a hairpin, or of what words like "cresc." ask for, on the way to another mark or into
    the next phrase; what lasts less than `least_bars` does not, nor a step between two soft dynamics.

    Args:
        table: [turn] of constraints/plan.toml.
    """
    found = []
    for phrase, after in pairwise((*reading.phrases, None)):
        assert phrase is not None
        levels = _falling(sketch, phrase, _marked(sketch, phrase))
        goal = DYNAMICS.index(after.dynamic) if after is not None else None
        known = {tick for tick, _ in levels}
        levels += [one for one in _growing(sketch, phrase, tuple(levels), goal, table) if one[0] not in known]
        levels = _settled(sketch, sorted(levels), phrase.end, table["least_bars"])
        found.append(_that_matter(levels, phrase.end, table))
    return found


def find_unisons(
    sketch: Sketch, reading: Reading, levels: Sequence[tuple[Level, ...]], table: Mapping[str, Any]
) -> list[int | None]:
    """For each phrase the tick up to which it is loud and in unison and octaves from its start, or None where it is not.

    Args:
        levels: the dynamics of each phrase.
        table: [unison] of constraints/plan.toml.
    """
    loud = DYNAMICS.index(table["from"])
    notes = sorted((note for note in sketch.notes if note.duration), key=lambda note: (note.onset, note.id))
    found: list[int | None] = []
    for phrase, own in zip(reading.phrases, levels, strict=True):
        turned = own[1][0] if len(own) > 1 else phrase.end
        end = _in_unison([note for note in notes if phrase.start <= note.onset < turned])
        bar = max(sketch.bar_at(phrase.start).length, sketch.bar_at(phrase.end - 1).length)
        lasting = own[0][1] >= loud and end - phrase.start >= table["least_bars"] * bar
        whole = turned - end < table["rest_bars"] * bar
        found.append((turned if whole else end) if lasting else None)
    return found


def _in_unison(notes: Sequence[SketchNote]) -> int:
    """The onset of the first note that is no octave or unison of another that begins with it; the end of all where all are."""
    together: dict[int, list[SketchNote]] = {}
    for note in notes:
        together.setdefault(note.onset, []).append(note)
    until = 0
    for onset, attack in together.items():
        pitches = {note.pitch.midi for note in attack}
        if len(pitches) < 2 or len({midi % OCTAVE for midi in pitches}) > 1:
            return onset
        until = max(until, *(note.end for note in attack))
    return until


def _marked(sketch: Sketch, phrase: Phrase) -> list[Level]:
    """The phrase's own dynamic, and the loudest mark at each place inside it."""
    marks: dict[int, int] = {}
    for mark in sketch.marks:
        if mark.kind == "dynamic" and mark.value in DYNAMICS and phrase.start < mark.onset < phrase.end:
            marks[mark.onset] = max(marks.get(mark.onset, 0), DYNAMICS.index(mark.value))
    return [(phrase.start, DYNAMICS.index(phrase.dynamic)), *sorted(marks.items())]


def _falling(sketch: Sketch, phrase: Phrase, levels: list[Level]) -> list[Level]:
    """The levels, with the first half-way down to the next where the phrase begins while a hairpin falls towards that."""
    (start, level), *later = levels
    for mark in sketch.marks:
        falls = mark.kind == "wedge" and mark.value == "diminuendo"
        if falls and mark.onset < phrase.start < mark.end and later and later[0][0] <= sketch.bar_at(mark.end).end:
            level = min(level, (level + later[0][1]) // 2)
    return [(start, level), *later]


def _growing(
    sketch: Sketch, phrase: Phrase, marked: Sequence[Level], after: int | None, table: Mapping[str, Any]
) -> Iterator[Level]:
    """The bar in the middle of each way from one dynamic to another, half of that way; none where it is short.

    Args:
        marked: the phrase's own dynamic and its marks.
        after: the dynamic of the next phrase, or None.
    """
    for onset, end, rises in _ways(sketch, phrase, table):
        level = max(one for one in marked if one[0] <= onset)[1]
        goal = next((one for one in marked if onset < one[0] <= end), (end, after if end == phrase.end else None))
        if goal[1] is None or (goal[1] > level) != rises:
            continue
        middle = sketch.bar_at((onset + goal[0]) // 2)
        if middle.onset > onset and goal[0] - onset >= table["way_bars"] * middle.length:
            yield middle.onset, (level + goal[1]) // 2


def _ways(sketch: Sketch, phrase: Phrase, table: Mapping[str, Any]) -> Iterator[tuple[int, int, bool]]:
    """(tick, tick, whether it grows louder) of hairpins that begin in the phrase, and of words for them, which hold up to its
    end; those that come near to it reach it."""
    last = sketch.bar_at(phrase.end - 1).onset
    for mark in sketch.marks:
        word = mark.value.lower()
        rises, falls = (
            mark.value == kind
            if mark.kind == "wedge"
            else mark.kind == "words" and any(stem in word for stem in table[key])
            for kind, key in (("crescendo", "louder"), ("diminuendo", "softer"))
        )
        if phrase.start <= mark.onset < phrase.end and rises != falls:
            wedge = mark.kind == "wedge" and mark.end < last
            end = sketch.bar_at(mark.end).end if wedge else phrase.end
            yield mark.onset, min(end, phrase.end), rises


def _settled(sketch: Sketch, levels: Sequence[Level], end: int, bars: float) -> list[Level]:
    """Without what lasts less than so many bars; a phrase is from its start what it soon comes to."""
    levels = [levels[0], *(after for before, after in pairwise(levels) if after[1] != before[1])]
    edges = [tick for tick, _ in levels] + [end]
    start = levels[0][0]
    lasting: list[Level] = []
    for (tick, level), after in zip(levels, edges[1:], strict=True):
        if after - tick >= bars * sketch.bar_at(tick).length:
            lasting.append((tick if lasting else start, level))
    return lasting or [levels[0]]


def _that_matter(levels: Sequence[Level], end: int, table: Mapping[str, Any]) -> tuple[Level, ...]:
    """Without small steps; where there are too many turns the shortest go first."""
    loud = DYNAMICS.index(table["from"])
    kept = [levels[0]]
    for tick, level in levels[1:]:
        step = abs(level - kept[-1][1])
        if step >= table["sudden"] or (step >= table["steps"] and max(level, kept[-1][1]) >= loud):
            kept.append((tick, level))
    while len(kept) > 1 + table["most"]:
        edges = [tick for tick, _ in kept] + [end]
        shortest = min(range(1, len(kept)), key=lambda k: (edges[k + 1] - edges[k], k))
        kept = list(_that_matter([*kept[:shortest], *kept[shortest + 1 :]], end, table))
    return tuple(kept)
