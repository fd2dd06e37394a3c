"""queries.txt: what was changed, thinned or moved, likely misprints and options, in plain lines for composer and copyist."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from autoorch.problem.draft import Draft, Fate
from autoorch.roles.model import Reading
from autoorch.score.breath import MARK
from autoorch.score.model import Measure, Score
from autoorch.sketch.model import Sketch, SketchNote
from autoorch.write.front import instrumentation

NEARLY = 'Options, nearly as good by the costs (to have one: --direct "BARS ROLE must NAME")'
Told = tuple[str, tuple[str, ...]]
"""A title and the lines under it."""
ALL = 6
"""More notes on one line are told by their number."""


def told(
    sketch: Sketch,
    reading: Reading,
    draft: Draft,
    score: Score,
    notices: Iterable[str] = (),
    options: Sequence[str] = (),
) -> tuple[Told, ...]:
    """All that is to be said of a draft; what has nothing to say is left out."""
    found = (
        ("Directions", map(str, draft.verdicts)),
        ("Please check in the sketch", reading.queries),
        ("Not kept from the file", sketch.lost),
        ("Taken for granted", (*sketch.notices, *reading.notices, *draft.notices, *notices)),
        ("Ours, to be confirmed", _ours(sketch, reading, score)),
        ("Added by the draft", _added(draft)),
        ("Reduced to fit the line-up", draft.losses),
        ("Left out", _fates(sketch, draft, ("thinned", "dropped"))),
        ("Changed", _fates(sketch, draft, ("re-figured", "held through"))),
        ("Moved by octaves", _fates(sketch, draft, ("octave moved",))),
        (NEARLY, options),
    )
    return tuple((title, own) for title, lines in found if (own := tuple(lines)))


def queries(sketch: Sketch, score: Score, said: Sequence[Told]) -> bytes:
    """The whole text; `said` is what `told` gives."""
    text = [sketch.title or "Untitled", "", *_section("Line-up", instrumentation(score))]
    found = dict(said)
    if not found.keys() - {"Directions", NEARLY}:
        at = 1 if "Directions" in found else 0
        said = (
            *said[:at],
            ("Nothing to ask: every note of the sketch is in the score at its own pitch.", ()),
            *said[at:],
        )
    for title, lines in said:
        text += _section(title, lines)
    return ("\n".join(text).rstrip() + "\n").encode()


def _added(draft: Draft) -> Iterator[str]:
    """Why each strand of ours is there, and who plays it."""
    players: dict[str, dict[str, None]] = {}
    for choice in draft.choices:
        players.setdefault(choice.strand, {})[choice.player] = None
    for one in draft.added:
        yield f"{one.reason} ({', '.join(players.get(one.strand, ()))})"


def _section(title: str, lines: Iterable[str]) -> list[str]:
    return [title, *(f"  {line}" for line in lines), ""]


def _ours(sketch: Sketch, reading: Reading, score: Score) -> Iterator[str]:
    """What the score says and the sketch does not: tempo, dynamics, letters, breaths, what a choir sings."""
    if reading.tempo_proposed:
        yield f"tempo: {reading.tempo:g} quarters a minute"
    for dynamic, phrases in groupby(reading.phrases, key=lambda p: p.dynamic if p.dynamic_proposed else ""):
        own = list(phrases)
        first, last = sketch.bar_at(own[0].start).number, sketch.bar_at(own[-1].end - 1).number
        if dynamic:
            yield f"dynamic: {dynamic} in {_bars(first, last)}"
    if not any(mark.kind == "rehearsal" for mark in sketch.marks):
        top = zip(score.bars, score.parts[0].measures, strict=True)
        letters = [f"{d.value} at {bar.number}" for bar, m in top for d in m.directions if d.kind == "rehearsal"]
        if letters:
            yield f"rehearsal letters: {', '.join(letters)}"
    own_breaths = any(MARK in note.marks for note in sketch.notes)
    breathing = [part.name for part in score.parts if not own_breaths and _has(part.measures, MARK)]
    if breathing:
        yield f"breath marks: {', '.join(breathing)}"
    if not any(note.lyric for note in sketch.notes):
        events = (e for part in score.parts for m in part.measures for voice in m.voices for e in voice)
        vowels = sorted({event.lyric for event in events if event.lyric})
        if vowels:
            yield f"the choir sings {', '.join(vowels)}"


def _has(measures: Iterable[Measure], mark: str) -> bool:
    return any(mark in event.marks for measure in measures for voice in measure.voices for event in voice)


def _fates(sketch: Sketch, draft: Draft, kinds: tuple[str, ...]) -> Iterator[str]:
    """One line for each run of bars in which the same became of notes for the same reason: bars, notes, who has them."""
    rows = [row for row in zip(sketch.notes, draft.fates, strict=True) if row[1].fate in kinds]
    runs: list[list[tuple[SketchNote, Fate]]] = []
    open_: dict[str, int] = {}
    for note, fate in rows:
        told = _why(fate)
        run = open_.get(told)
        if run is None or sketch.bar_at(note.onset).index - sketch.bar_at(runs[run][-1][0].onset).index > 1:
            open_[told] = len(runs)
            runs.append([(note, fate)])
        else:
            runs[run].append((note, fate))
    for own in runs:
        first, last = (sketch.bar_at(own[k][0].onset).number for k in (0, -1))
        names = " ".join(str(note.pitch) for note, _ in own) if len(own) <= ALL else f"{len(own)} notes"
        place = _place(sketch, own[0][0]) if len(own) == 1 else _bars(first, last)
        yield f"{place}: {names} ({_why(own[0][1])})"


def _why(fate: Fate) -> str:
    return ", ".join(fate.players) if fate.players else f"{fate.fate}: {fate.reason}"


def _place(sketch: Sketch, note: SketchNote) -> str:
    bar = sketch.bar_at(note.onset)
    return f"bar {bar.number}, beat {1 + (note.onset - bar.onset) * bar.metre[1] / (4 * sketch.ticks):g}"


def _bars(first: str, last: str) -> str:
    return f"bar {first}" if first == last else f"bars {first}-{last}"
