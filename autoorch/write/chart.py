"""The reading on a terminal: a row of bars for each phrase, with its label, dynamic, key, chords, and what each role does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from autoorch.roles.form import form_of
from autoorch.roles.model import ROLES, Phrase, Reading
from autoorch.roles.names import key_name, short_name
from autoorch.sketch.bars import mainly
from autoorch.sketch.model import Bar, Sketch

_LEVELS = "▁▂▃▄▅▆▇█"
_HEAD = 25
_CELL = 11
_SIGNS = {
    "authentic": "authentic close",
    "half": "half close",
    "deceptive": "deceptive close",
    "plagal": "plagal close",
}


def chart(sketch: Sketch, reading: Reading, width: int) -> str:
    """The whole chart, no line longer than `width` characters where four bars fit into it."""
    across = max(4, (width - _HEAD - 1) // (_CELL + 1))
    busy = _activity(sketch, reading)
    most = {role: max((row.get(role, 0) for row in busy), default=1) or 1 for role in ROLES}
    there = [role for role in ROLES if any(row.get(role) for row in busy)]
    rows = [
        f"{key_name(reading.key, sketch.bars[0].fifths)}, {reading.tempo:g} quarters a minute{_star(reading.tempo_proposed)}, "
        f"form {form_of(reading.phrases)}",
        f"in each bar, from the left: {', '.join(there)} (the higher the fuller); * proposed, ^ with an upbeat",
        *_imitation(sketch, reading),
        "",
    ]
    for phrase in reading.phrases:
        bars = [sketch.bars[index] for index in mainly(sketch, phrase.start, phrase.end)]
        for k in range(0, len(bars), across):
            rows += _row(sketch, reading, phrase, bars[k : k + across], busy, most, there, k == 0)
    return "\n".join(row.rstrip() for row in rows)


def _imitation(sketch: Sketch, reading: Reading) -> Iterator[str]:
    """Bars in which each subject enters."""
    for subject in sorted({entry.subject for entry in reading.entries}):
        bars = (
            sketch.bar_at(sketch.by_id[entry.notes[0]].onset).number
            for entry in reading.entries
            if entry.subject == subject
        )
        yield f"subject {subject} enters in bars {', '.join(dict.fromkeys(bars))}"


def _row(
    sketch: Sketch,
    reading: Reading,
    phrase: Phrase,
    bars: Sequence[Bar],
    busy: Sequence[dict[str, int]],
    most: dict[str, int],
    there: Sequence[str],
    first: bool,
) -> Iterator[str]:
    """Two lines: chords, and what the roles do."""
    name, more = "", ""
    if first:
        level = phrase.dynamic + _star(phrase.dynamic_proposed)
        upbeat = "^" if phrase.start != bars[0].onset else ""
        name = f"{phrase.section:4}{phrase.label:5}{'bar ' + bars[0].number + upbeat:9}{level}"
        more = f"  {phrase.character}{_star(phrase.character_proposed) if phrase.character else ''}"
    cells = "|".join(f"{_fitting(_chords(reading, phrase, bar)):{_CELL}}" for bar in bars)
    last = bars[-1].onset + bars[-1].length >= phrase.end - bars[-1].length // 2
    yield f"{name:{_HEAD}}|{cells}|{' ' + _SIGNS[phrase.cadence] if last and phrase.cadence else ''}"
    levels = []
    for bar in bars:
        marks = (_level(busy[bar.index].get(role, 0), most[role]) for role in there)
        levels.append(f"{''.join(marks):{_CELL}}")
    yield f"{more:{_HEAD}}|{'|'.join(levels)}|"


def _chords(reading: Reading, phrase: Phrase, bar: Bar) -> str:
    """Numerals that begin in the bar, behind the key where it changes."""
    found: list[str] = []
    key = None
    for chord in reading.chords:
        if chord.end <= max(phrase.start, bar.onset) or chord.start >= min(phrase.end, bar.end):
            if chord.start < bar.onset:
                key = chord.key
            continue
        if chord.key != key:
            found.append(f"{short_name(chord.key, bar.fifths)}:")
            key = chord.key
        if chord.numeral and (not found or found[-1] != chord.numeral):
            found.append(chord.numeral)
    return " ".join(found)


def _fitting(chords: str) -> str:
    """As many whole chords as a cell has room for, with a sign where there are more."""
    if len(chords) <= _CELL:
        return chords
    return chords[:_CELL].rpartition(" ")[0] + "…"


def _activity(sketch: Sketch, reading: Reading) -> list[dict[str, int]]:
    """Of each bar: role -> notes that start in it."""
    found: list[dict[str, int]] = [{} for _ in sketch.bars]
    for strand in reading.strands:
        for line in strand.lines:
            for note in line.notes:
                row = found[sketch.bar_at(sketch.by_id[note].onset).index]
                row[strand.role] = row.get(strand.role, 0) + 1
    return found


def _level(count: int, most: int) -> str:
    return _LEVELS[max(0, -(-count * len(_LEVELS) // most) - 1)] if count else "·"


def _star(proposed: bool) -> str:
    return "*" if proposed else ""
