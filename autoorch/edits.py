"""A score that was edited elsewhere against the draft it comes from: what differs by part, bar and beat, and what of it is a
choice of who plays what, which can be locked; the rest is told.

Times are fractions of a quarter from the first bar, so that files with other divisions compare.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from autoorch.check.limits import Limits
from autoorch.check.model import Part, Score
from autoorch.check.read import read_score
from autoorch.errors import SketchError
from autoorch.pitch import from_midi
from autoorch.problem.data import ProblemData, Span
from autoorch.problem.draft import Choice, Draft
from autoorch.solver.asked import Lock
from autoorch.tables import Tables

Sound = tuple[Fraction, int]
"""(start, sounding MIDI pitch)"""
ENOUGH = 0.5
"""A choice is taken away, or given, where at least so much of its notes is."""


@dataclass(frozen=True, slots=True)
class Edit:
    """One difference.

    Attributes:
        kind: "moved", "doubled", "deleted", "added", "pitch", "length" or "dynamic".
        player: who it is about; `to` has the note now, for moved ones.
        bar, beat: as printed.
        what: "C5", "C5 to D5", "p to f".
        start, pitch: of the note; a dynamic has pitch -1.
        after: pitch afterwards, -1 where there is none.
    """

    kind: str
    player: str
    bar: str
    beat: str
    what: str
    start: Fraction
    pitch: int = -1
    after: int = -1
    to: str = ""

    def __str__(self) -> str:
        """ "Oboe 1, bar 9, beat 2: C5 moved to Clarinet 1"."""
        place = f"{self.player}, bar {self.bar}, beat {self.beat}"
        if self.kind == "dynamic":
            return f"{place}: {self.what}"
        if self.kind in ("pitch", "length"):
            return f"{place}: {self.kind} {self.what}"
        return f"{place}: {self.what} {self.kind}" + (f" to {self.to}" if self.to else "")


def differences(before: Path, after: Path, players: Sequence[str], tables: Tables) -> tuple[Edit, ...]:
    """Everything that differs, in time order. `players` are the parts' players, in the order of the score.

    Raises:
        SketchError: where a file is no score, or the edited one has other parts or bars.
    """
    old, new = (read_score(path, Limits(tables, "professional")) for path in (before, after))
    if len(old.parts) != len(players) or len(new.parts) != len(players) or len(old.bars) != len(new.bars):
        raise SketchError(
            f"has {len(new.parts)} parts and {len(new.bars)} bars; the draft has {len(players)} and {len(old.bars)}",
            after.name,
        )
    gone = [_less(_sounds(a, old), _sounds(b, new)) for a, b in zip(old.parts, new.parts, strict=True)]
    come = [_less(_sounds(b, new), _sounds(a, old)) for a, b in zip(old.parts, new.parts, strict=True)]
    found = [
        *_paired(old, players, gone, come, tables.rule("continuity")["cut"]["octaves"]),
        *_lengths(old, new, players),
        *_dynamics(old, new, players),
    ]
    order = {name: number for number, name in enumerate(players)}
    return tuple(sorted(found, key=lambda e: (e.start, order[e.player], e.kind, e.pitch, e.after)))


def _sounds(part: Part, score: Score) -> Counter[Sound]:
    return Counter((Fraction(note.start, score.ticks), note.pitch) for note in (*part.notes, *part.graces))


def _less(one: Counter[Sound], two: Counter[Sound]) -> list[Sound]:
    return sorted((one - two).elements())


def _paired(
    score: Score, players: Sequence[str], gone: Sequence[list[Sound]], come: Sequence[list[Sound]], farthest: int
) -> Iterator[Edit]:
    """Notes that went and notes that came, paired: the same note elsewhere, another pitch in its place, another octave,
    at most `farthest` away."""

    def pairs(same_part: bool, fits: Mapping[int, None] | None) -> Iterator[tuple[int, int, Sound, Sound]]:
        for a, lost in enumerate(gone):
            for sound in list(lost):
                for b, won in enumerate(come):
                    if (a == b) != same_part:
                        continue
                    other = next(
                        (s for s in won if s[0] == sound[0] and (fits is None or s[1] - sound[1] in fits)), None
                    )
                    if other is not None:
                        lost.remove(sound)
                        won.remove(other)
                        yield a, b, sound, other
                        break

    octaves = dict.fromkeys(12 * k for k in range(-farthest, farthest + 1))
    for a, b, sound, other in pairs(False, {0: None}):
        yield _edit(score, "moved", players[a], sound, after=other[1], to=players[b])
    for a, _, sound, other in pairs(True, None):
        yield _edit(score, "pitch", players[a], sound, after=other[1])
    for a, b, sound, other in pairs(False, octaves):
        yield _edit(score, "moved", players[a], sound, after=other[1], to=players[b])
    heard = {(Fraction(n.start, score.ticks), n.pitch % 12) for part in score.parts for n in part.notes}
    for a, lost in enumerate(gone):
        for sound in lost:
            yield _edit(score, "deleted", players[a], sound)
    for b, won in enumerate(come):
        for sound in won:
            kind = "doubled" if (sound[0], sound[1] % 12) in heard else "added"
            yield _edit(score, kind, players[b], sound)


def _edit(score: Score, kind: str, player: str, sound: Sound, after: int = -1, to: str = "") -> Edit:
    bar, beat = score.place(int(sound[0] * score.ticks))
    name = str(from_midi(sound[1]))
    what = name if after in (-1, sound[1]) else f"{name} to {from_midi(after)}" if kind == "pitch" else name
    return Edit(kind, player, bar, beat, what, sound[0], sound[1], after, to)


def _lengths(old: Score, new: Score, players: Sequence[str]) -> Iterator[Edit]:
    for player, a, b in zip(players, old.parts, new.parts, strict=True):
        mine, other = _ends(a, old), _ends(b, new)
        for sound in sorted(mine.keys() & other.keys()):
            if mine[sound] != other[sound]:
                length = mine[sound] - sound[0], other[sound] - sound[0]
                edit = _edit(old, "length", player, sound)
                yield replace(edit, what=f"of {edit.what}: {length[0]} to {length[1]} quarters")


def _ends(part: Part, score: Score) -> dict[Sound, Fraction]:
    return {(Fraction(n.start, score.ticks), n.pitch): Fraction(n.end, score.ticks) for n in part.notes}


def _dynamics(old: Score, new: Score, players: Sequence[str]) -> Iterator[Edit]:
    for player, a, b in zip(players, old.parts, new.parts, strict=True):
        mine, other = _marks(a, old), _marks(b, new)
        for start in sorted(mine.keys() | other.keys()):
            before, after = mine.get(start, ""), other.get(start, "")
            if before != after:
                bar, beat = old.place(int(start * old.ticks))
                what = (
                    f"{before} made {after}"
                    if before and after
                    else f"{after} added"
                    if after
                    else f"{before} left out"
                )
                yield Edit("dynamic", player, bar, beat, what, start)


def _marks(part: Part, score: Score) -> dict[Fraction, str]:
    return {Fraction(mark.tick, score.ticks): mark.text for mark in part.marks if mark.kind == "dynamic"}


def locks(data: ProblemData, draft: Draft, edits: Iterable[Edit]) -> tuple[tuple[Lock, ...], tuple[Edit, ...]]:
    """(spans whose players the edits change, locked as edited; edits that are no such change).

    A dynamic goes with the player who is given or loses the span.
    """
    edits = tuple(edits)
    gone: dict[str, set[Sound]] = defaultdict(set)
    come: dict[str, set[Sound]] = defaultdict(set)
    for edit in edits:
        if edit.kind in ("moved", "deleted"):
            gone[edit.player].add((edit.start, edit.pitch))
        if edit.kind == "moved":
            come[edit.to].add((edit.start, edit.after))
        elif edit.kind in ("doubled", "added"):
            come[edit.player].add((edit.start, edit.pitch))
    changed: list[tuple[str, Fraction, Fraction]] = []
    left: set[tuple[str, Sound]] = set()
    given: set[tuple[str, Sound]] = set()
    found = []
    for span in data.spans:
        strand = data.strands[span.strand]
        own = [c for c in draft.choices if (c.strand, c.start) == (strand.id, span.start)]
        kept = []
        for choice in own:
            notes = _notes(data, span, choice.lines, choice.octave)
            if notes and len(notes & gone[choice.player]) >= ENOUGH * len(notes):
                left |= {(choice.player, sound) for sound in notes & gone[choice.player]}
            else:
                kept.append(choice)
        new = list(_given(data, span, come, own))
        for choice in new:
            notes = _notes(data, span, choice.lines, choice.octave) & come[choice.player]
            given |= {(choice.player, sound) for sound in notes}
            come[choice.player] -= notes
        if new or len(kept) < len(own):
            name = f"bar {data.bar_name[span.start]}, {strand.role} ({strand.id}): as edited"
            found.append(Lock(name, strand.id, span.start, tuple(kept + new)))
            whose = {choice.player for choice in {*own, *new} - {*own}.intersection(kept)}
            place = Fraction(span.start, data.ticks), Fraction(span.end, data.ticks)
            changed += [(player, *place) for player in sorted(whose)]
    rest = tuple(
        edit
        for edit in edits
        if not (
            (edit.kind in ("moved", "deleted") and (edit.player, (edit.start, edit.pitch)) in left)
            or (edit.kind == "moved" and (edit.to, (edit.start, edit.after)) in given)
            or (edit.kind in ("doubled", "added") and (edit.player, (edit.start, edit.pitch)) in given)
            or (edit.kind == "dynamic" and any(p == edit.player and a <= edit.start <= b for p, a, b in changed))
        )
    )
    return tuple(found), rest


def _notes(data: ProblemData, span: Span, lines: Iterable[str], octave: int) -> set[Sound]:
    """What a player sounds who takes these lines of a span."""
    strand = data.strands[span.strand]
    return {
        (Fraction(note.onset, data.ticks), note.pitch.midi + 12 * octave)
        for number, profile in span.lines.items()
        if strand.lines[number].id in lines
        for note in profile.notes
        if note.duration > 0
    }


def _given(data: ProblemData, span: Span, come: Mapping[str, set[Sound]], own: Sequence[Choice]) -> Iterator[Choice]:
    """Choices that new notes amount to: a player has most of a line at one octave; lines of one octave together."""
    strand = data.strands[span.strand]
    farthest = data.tables.rule("continuity")["cut"]["octaves"]
    for player in data.players:
        notes = come.get(player.name)
        if not notes:
            continue
        for octave in sorted(range(-farthest, farthest + 1), key=abs):
            lines = tuple(
                strand.lines[number].id
                for number in span.lines
                if not strand.lines[number].reduced
                and (line := _notes(data, span, [strand.lines[number].id], octave))
                and len(line & notes) >= ENOUGH * len(line)
            )
            there = {line for c in own if c.player == player.name and c.octave == octave for line in c.lines}
            if lines and not there.intersection(lines):
                yield Choice(player.name, strand.id, lines, octave, span.start, span.end)
                break
