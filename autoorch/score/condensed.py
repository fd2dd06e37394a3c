"""A condensed score: each family on two staves at sounding pitch, what is doubled written once, with who plays it.

Keyboards, harp and percussion keep their staves; who has nothing to play is left out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from autoorch.layers.model import MaterialNote
from autoorch.lineup import Player
from autoorch.score.marks import Placed
from autoorch.score.merge import dynamics, marks_of, wedges
from autoorch.score.model import Event, Head, Part, Score
from autoorch.score.page import Page
from autoorch.score.streams import Grid, Played, once_a_pitch
from autoorch.score.transpose import at_concert_pitch
from autoorch.score.voices import lay_out

FAMILIES = {"woodwind": "Woodwind", "brass": "Brass", "voice": "Voices", "strings": "Strings"}
"""Families that share staves, and the names of these."""


def condensed(score: Score) -> Score:
    """The condensed score of a full one, at concert pitch."""
    bars = score.bars
    joined: dict[str, list[Part]] = {}
    for part in score.parts:
        if _sounds(part):
            joined.setdefault(FAMILIES.get(part.player.instrument.family, part.id), []).append(part)
    grid = Grid(score.ticks, 1, bars)
    top = list(marks_of(score.parts[0], score, True))
    parts = []
    for number, (name, own) in enumerate(joined.items()):
        first = () if number else top
        family = own[0].player.instrument.family in FAMILIES
        among = sum(FAMILIES.get(part.player.instrument.family) == name for part in score.parts)
        made = _family(name, own, score, grid, first, among) if family else _kept(own[0], score, first)
        parts.append(replace(made, id=f"P{number + 1}"))
    if not parts:
        parts = [_kept(score.parts[0], score, top)]
    return at_concert_pitch(replace(score, parts=tuple(parts), heading=score.house.first_page["condensed"]))


def _sounds(part: Part) -> bool:
    return any(event.heads for measure in part.measures for voice in measure.voices for event in voice)


def _kept(part: Part, score: Score, top: Sequence[Placed]) -> Part:
    """A part with its own staves, and what stands on top of the score if it is the first."""
    page = _page(part.player, score)
    inside = page.placed([*top, *marks_of(part, score, False)])
    measures = (
        replace(measure, directions=tuple(own), rests=0, turn=False)
        for measure, own in zip(part.measures, inside, strict=True)
    )
    return replace(part, measures=tuple(measures))


def _page(player: Player, score: Score) -> Page:
    return Page(player, Grid(score.ticks, 1, score.bars), score.house)


def _family(name: str, parts: Sequence[Part], score: Score, grid: Grid, top: Sequence[Placed], among: int) -> Part:
    """The two staves of a family."""
    instrument = replace(
        parts[0].player.instrument, name=name, player=name, short="", kind="keys", staves=2,
        clefs=("treble", "bass"), transposition=(0, 0),
    )  # fmt: skip
    player = Player(name, instrument, size=2, group=name)
    heard = [_heard(part, score) for part in parts]
    notes = [note for each in heard for note in each.notes]
    notes.sort(key=lambda n: (n.onset, -n.midi, n.line, n.note.id))
    notes = once_a_pitch(notes)
    page = _page(player, score)
    for bar, voices in zip(score.bars, lay_out(player, notes, score.bars, score.house.hand), strict=True):
        page.write(bar, voices)
    left = {note.key for note in notes}
    page.slur([pair for each in heard for pair in each.slurs if pair[0].key in left and pair[1].key in left])
    page.hold(sorted({tick for each in heard for tick in each.fermatas}))
    marks = [mark for part in parts for mark in marks_of(part, score, False)]
    placed = [*top, *_names(parts, heard, grid, among), *dynamics(marks), *wedges(marks)]
    return Part("", name, name, player, (0, 0), page.measures(placed))


@dataclass(frozen=True)
class _Heard:
    """What one part sounds: notes with their ties joined, slurs by their ends, last ticks of fermatas."""

    notes: tuple[Played, ...]
    slurs: tuple[tuple[Played, Played], ...]
    fermatas: tuple[int, ...]


def _heard(part: Part, score: Score) -> _Heard:
    notes: list[Played] = []
    slurs: list[tuple[Played, Played]] = []
    fermatas: list[int] = []
    held: dict[tuple[int, int], int] = {}
    begun: dict[int, int] = {}
    for bar, measure in zip(score.bars, part.measures, strict=True):
        for number, voice in enumerate(measure.voices):
            graces: list[MaterialNote] = []
            for event in voice:
                onset = bar.onset + event.onset
                if event.grace:
                    graces += (_material(part, h, onset, 0, event, len(notes)) for h in event.heads)
                    continue
                if "fermata" in event.marks:
                    fermatas.append(onset + event.duration - 1)
                for head in event.heads:
                    key = (measure.staff_of[number], head.sounding.midi)
                    if head.tie_stop and key in held:
                        index = held.pop(key)
                        notes[index] = replace(notes[index], end=onset + event.duration)
                    else:
                        index = len(notes)
                        made = _material(part, head, onset, event.duration, event, index)
                        notes.append(Played(made, onset, made.end, 0, f"{part.id}.{number}", tuple(graces)))
                    if head.tie_start:
                        held[key] = index
                graces = []
                if event.heads:
                    for slur in event.slur_stops:
                        if slur in begun:
                            slurs.append((notes[begun.pop(slur)], notes[index]))
                    begun |= dict.fromkeys(event.slur_starts, index)
    return _Heard(tuple(notes), tuple(slurs), tuple(fermatas))


def _material(part: Part, head: Head, onset: int, duration: int, event: Event, index: int) -> MaterialNote:
    marks = tuple(mark for mark in event.marks if mark != "fermata" and not _bowing(mark))
    return MaterialNote(f"{part.id}.{index}", onset, duration, head.sounding, (head.source,), marks, event.grace)


def _bowing(mark: str) -> bool:
    """A sign of one player's own doing."""
    return mark in ("up-bow", "down-bow", "breath-mark", "thumb-position")


def _names(parts: Sequence[Part], heard: Sequence[_Heard], grid: Grid, among: int) -> Iterator[Placed]:
    """Who plays of a family of `among` players, at the first note of each bar from which on it is others."""
    attacks: dict[int, int] = {}
    inside: dict[int, set[int]] = defaultdict(set)
    for index, each in enumerate(heard):
        for note in each.notes:
            bar = grid.bar_at(note.onset).index
            inside[bar].add(index)
            attacks[bar] = min(attacks.get(bar, note.onset), note.onset)
            last = grid.bar_at(note.end - 1).index
            for later in range(bar + 1, last + 1):
                inside[later].add(index)
    before: set[int] = set()
    for bar in sorted(attacks):
        now = inside[bar]
        if now != before:
            everyone = len(now) == among > 1
            yield Placed(attacks[bar], "words", "tutti" if everyone else _told([parts[k] for k in sorted(now)]))
            before = now


def _told(parts: Iterable[Part]) -> str:
    """ "Fl. 1.2, Ob. 1" """
    seats: dict[str, list[str]] = {}
    for part in parts:
        short, _, seat = part.short.rpartition(" ")
        if not (seat.isdigit() or seat in ("I", "II", "III", "IV")):
            short, seat = part.short, ""
        seats.setdefault(short, []).append(seat)
    return ", ".join(f"{short} {'.'.join(own)}".strip() for short, own in seats.items())
