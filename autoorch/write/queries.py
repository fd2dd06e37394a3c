"""queries.txt: what was changed, thinned or moved, likely misprints and options, in plain lines for composer and copyist."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from types import MappingProxyType

from autoorch.layers.model import MaterialLine
from autoorch.problem.draft import Choice, Draft, Fate
from autoorch.roles.model import Reading
from autoorch.score.breath import MARK
from autoorch.score.model import Measure, Score
from autoorch.sketch.bars import beat_at, runs, spelled
from autoorch.sketch.model import Sketch, SketchNote
from autoorch.write.front import instrumentation
from autoorch.write.page.words import octave_words

NEARLY = 'Options, nearly as good by the costs (to have one: --direct "BARS ROLE must NAME")'
IDLE = "Nothing to play"
Told = tuple[str, tuple[str, ...]]
"""A title and the lines under it."""
MOVED = "octave moved"
ALL = 6
"""More notes on one line are told by their number."""


def told(
    sketch: Sketch,
    reading: Reading,
    draft: Draft,
    score: Score,
    notices: Iterable[str] = (),
    options: Sequence[str] = (),
    lines: Mapping[str, MaterialLine] = MappingProxyType({}),
) -> tuple[Told, ...]:
    """All that is to be said of a draft; what has nothing to say is left out. `lines`: what players could get, by name."""
    found = (
        ("Directions", map(str, draft.verdicts)),
        ("Please check in the sketch", reading.queries),
        ("Not kept from the file", sketch.lost),
        ("Taken for granted", (*sketch.notices, *reading.notices, *draft.notices, *notices)),
        ("Ours, to be confirmed", _ours(sketch, reading, score)),
        (IDLE, [", ".join(names)] if (names := idle(score)) else ()),
        ("Added by the draft", _added(sketch, draft, lines)),
        ("Reduced to fit the line-up", draft.losses),
        ("Left out", _fates(sketch, draft, ("thinned", "dropped"))),
        (
            "Re-figured: at other times or heights, in a figure that suits the player",
            _fates(sketch, draft, ("re-figured",)),
        ),
        ("Held through: sounding on, not struck anew", _fates(sketch, draft, ("held through",))),
        ("Moved by octaves", _fates(sketch, draft, (MOVED,))),
        (NEARLY, options),
    )
    return tuple((title, own) for title, lines in found if (own := tuple(lines)))


def queries(sketch: Sketch, score: Score, said: Sequence[Told]) -> bytes:
    """The whole text; `said` is what `told` gives."""
    text = [sketch.title or "Untitled", "", *_section("Line-up", instrumentation(score))]
    found = dict(said)
    if not found.keys() - {"Directions", IDLE, NEARLY}:
        at = 1 if "Directions" in found else 0
        said = (
            *said[:at],
            ("Nothing to ask: every note of the sketch is in the score at its own pitch.", ()),
            *said[at:],
        )
    for title, lines in said:
        text += _section(title, lines)
    return ("\n".join(text).rstrip() + "\n").encode()


def idle(score: Score) -> tuple[str, ...]:
    """Who of the line-up rests from the first bar to the last, as the score calls them."""
    names: dict[str, str] = {}
    plays: dict[str, bool] = {}
    for part in score.parts:
        names.setdefault(part.seat, part.name)
        plays[part.seat] = plays.get(part.seat, False) or _sounds(part.measures)
    return tuple(name for seat, name in names.items() if not plays[seat])


def _sounds(measures: Iterable[Measure]) -> bool:
    return any(event.heads and not event.cue for measure in measures for voice in measure.voices for event in voice)


def _added(sketch: Sketch, draft: Draft, lines: Mapping[str, MaterialLine]) -> Iterator[str]:
    """Where each strand of ours sounds, why, and by whom."""
    players: dict[str, dict[str, None]] = {}
    bars: dict[str, set[int]] = {}
    for choice in draft.choices:
        players.setdefault(choice.strand, {})[choice.player] = None
        for note in (note for name in choice.lines if name in lines for note in lines[name].notes):
            if choice.start <= note.onset < choice.end:
                first, last = (sketch.bar_at(tick).index for tick in (note.onset, max(note.onset, note.end - 1)))
                bars.setdefault(choice.strand, set()).update(range(first, last + 1))
    for one in draft.added:
        where = f"{runs(sketch, bars[one.strand])}: " if one.strand in bars else ""
        yield f"{where}{one.reason} ({', '.join(players.get(one.strand, ()))})"


def _section(title: str, lines: Iterable[str]) -> list[str]:
    return [title, *(f"  {line}" for line in lines), ""]


def _ours(sketch: Sketch, reading: Reading, score: Score) -> Iterator[str]:
    """What the score says and the sketch does not: tempo, dynamics, letters, breaths, what a choir sings."""
    if reading.tempo_proposed:
        yield f"tempo: {reading.tempo:g} quarters a minute"
    for dynamic, phrases in groupby(reading.phrases, key=lambda p: p.dynamic if p.dynamic_proposed else ""):
        own = list(phrases)
        if dynamic:
            yield f"dynamic: {dynamic} in {spelled(sketch, own[0].start, own[-1].end)}"
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
    """One line for each run of bars in which the same became of notes for the same reason: bars, notes, who has them where."""
    rows = [row for row in zip(sketch.notes, draft.fates, strict=True) if row[1].fate in kinds]
    moved = _moved(draft)
    found: list[list[tuple[SketchNote, Fate]]] = []
    open_: dict[str, int] = {}
    for note, fate in rows:
        told = _why(note, fate, moved)
        run = open_.get(told)
        if run is None or sketch.bar_at(note.onset).index - sketch.bar_at(found[run][-1][0].onset).index > 1:
            open_[told] = len(found)
            found.append([(note, fate)])
        else:
            found[run].append((note, fate))
    for own in found:
        names = " ".join(str(note.pitch) for note, _ in own) if len(own) <= ALL else f"{len(own)} notes"
        place = _place(sketch, own[0][0]) if len(own) == 1 else spelled(sketch, own[0][0].onset, own[-1][0].onset + 1)
        yield f"{place}: {names} ({_why(*own[0], moved)})"


def _moved(draft: Draft) -> dict[str, list[Choice]]:
    """Player -> choices that move what he plays by octaves."""
    found: dict[str, list[Choice]] = {}
    for choice in draft.choices:
        if choice.octave:
            found.setdefault(choice.player, []).append(choice)
    return found


def _why(note: SketchNote, fate: Fate, moved: Mapping[str, Sequence[Choice]]) -> str:
    """Who has the note, and how far it was moved; or why nobody has it."""
    if not fate.players:
        return f"{fate.fate}: {fate.reason}"
    if fate.fate != MOVED:
        return ", ".join(fate.players)
    here = (c for player in fate.players for c in moved.get(player, ()) if c.start <= note.onset < c.end)
    far = " or ".join(octave_words(octave) for octave in sorted({choice.octave for choice in here}))
    return ", ".join(filter(None, (*fate.players, far)))


def _place(sketch: Sketch, note: SketchNote) -> str:
    return f"bar {sketch.bar_at(note.onset).number}, beat {beat_at(sketch, note.onset):g}"
