"""Dynamics, hairpins and words: what the sketch asks for at each place, and what each player must be told of it.

A player gets a dynamic at his first note, after a long rest and at each change; a hairpin only while he sounds, and it ends.
The figures stand in constraints/notation.toml.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace

from autoorch.instruments import DYNAMICS
from autoorch.lineup import Player
from autoorch.roles.model import Reading
from autoorch.score.notation import Notation
from autoorch.score.streams import Grid, Played
from autoorch.sketch.model import Mark, Sketch

_AFTER = {"fp": "p", "sfp": "p", "sfpp": "pp", "pf": "f"}
"""Dynamics that leave another one in force."""
STRUCK = ("keys", "plucked", "mallets", "timpani", "unpitched")
"""Kinds of instruments whose notes only die away, rolls left out."""
TREMBLING = "tremolo"
PICKUP = "0"
"""Number of a pickup bar."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A direction at a tick of the score; fields as in score.model.Direction."""

    tick: int
    kind: str
    value: str
    text: str = ""
    staff: int = 1
    everybody: bool = False


@dataclass(frozen=True)
class Voiced:
    """Marks of the sketch, sorted, in the score's ticks; `hands`: all staves are hands of one piano and share their marks;
    `swells`: the hairpins that are only for those who sing or hold; `softer`: (start, end) in the sketch's ticks, the
    dynamics that are softer there for the player at hand, and by how many degrees."""

    dynamics: tuple[Mark, ...]
    wedges: tuple[Mark, ...]
    words: tuple[Mark, ...]
    factor: int
    hands: bool
    reading: Reading
    house: Notation
    swells: tuple[Mark, ...] = ()
    softer: tuple[tuple[int, int, tuple[str, ...], int], ...] = ()

    @staticmethod
    def of(sketch: Sketch, reading: Reading, grid: Grid, house: Notation, swells: tuple[Mark, ...] = ()) -> Voiced:
        def kind(name: str) -> tuple[Mark, ...]:
            return tuple(sorted((m for m in sketch.marks if m.kind == name), key=lambda m: (m.onset, m.staff)))

        hands = not any(staff.hint for staff in sketch.staves)
        done = {
            (cue.start, cue.staff, cue.text)
            for cue in reading.cues
            if (cue.directions or cue.weight is not None) and not _manner(cue.text, house)
        }
        words = tuple(mark for mark in kind("words") if (mark.onset, mark.staff, mark.value) not in done)
        return Voiced(kind("dynamic"), kind("wedge"), words, grid.factor, hands, reading, house, swells)

    def concerns(self, mark: Mark, staff: int) -> bool:
        return self.hands or staff < 0 or mark.staff in (staff, -1)

    def force(self, tick: int, staff: int) -> str:
        """The dynamic in force at a tick of the score for notes of a staff."""
        here = tick // self.factor
        found, since = "", -1
        phrases = self.reading.phrases
        phrase = phrases[self.reading.phrase_at(here)] if phrases else None
        for mark in self.dynamics:
            if mark.onset > here:
                break
            value = _AFTER.get(mark.value, mark.value)
            if value in DYNAMICS and self.concerns(mark, staff):
                found, since = value, mark.onset
        if phrase and (not found or (phrase.dynamic_proposed and since < phrase.start)):
            return self.own(phrase.dynamic, tick)
        return self.own(found or "mf", tick)

    def own(self, dynamic: str, tick: int) -> str:
        """What the player at hand is told where a dynamic stands at a tick of the score."""
        steps = self.gives_way(dynamic, tick)
        return DYNAMICS[max(0, DYNAMICS.index(dynamic) - steps)] if steps else dynamic

    def gives_way(self, dynamic: str, tick: int) -> int:
        """By how many degrees the player at hand is softer than this dynamic at a tick of the score."""
        here = tick // self.factor
        return max((steps for start, end, at, steps in self.softer if start <= here < end and dynamic in at), default=0)

    def turns(self, before: int, tick: int, staff: int) -> bool:
        """Between two ticks of the score the player at hand begins or ends to give way, under one dynamic of all others."""
        if not self.softer:
            return False
        plain = replace(self, softer=()).force(tick, staff)
        return self.gives_way(plain, before) != self.gives_way(plain, tick)

    def swelling(self, tick: int, staff: int) -> bool:
        """Inside a hairpin, which says itself where the dynamic goes."""
        wedges = (wedge for wedge in self.wedges if self.concerns(wedge, staff))
        return any(wedge.onset * self.factor < tick < wedge.end * self.factor for wedge in wedges)

    def at(self, tick: int, staff: int) -> Mark | None:
        """The dynamic mark written exactly here, the staff's own one first."""
        if tick % self.factor:
            return None
        here = [m for m in self.dynamics if m.onset == tick // self.factor and self.concerns(m, staff)]
        return min(here, key=lambda m: m.staff != staff) if here else None


def dynamics_of(notes: Sequence[Played], staff_of: Sequence[int], voiced: Voiced, grid: Grid) -> list[Placed]:
    """The dynamics of one player. `staff_of` is the sketch staff of each note, -1 for notes of ours."""
    found: list[Placed] = []
    state, ended, bar_ends = "", -1, [bar.end for bar in grid.bars]
    changes = [mark for mark in voiced.dynamics if mark.value in DYNAMICS]
    onsets = [mark.onset * voiced.factor for mark in changes]
    attacks: dict[int, tuple[int, int]] = {}
    before = -1
    for note, staff in zip(notes, staff_of, strict=True):
        end, own = attacks.get(note.onset, (0, staff))
        attacks[note.onset] = (max(end, note.end), own)
    wedge_ends = {wedge.end * voiced.factor for wedge in voiced.wedges}
    for onset, (end, staff) in attacks.items():
        mark, force = voiced.at(onset, staff), voiced.force(onset, staff)
        rested = ended < 0 or _rests(ended, onset, voiced, grid, bar_ends)
        if mark is not None and (mark.value not in DYNAMICS or mark.onset * voiced.factor in wedge_ends):
            found.append(Placed(onset, "dynamic", voiced.own(mark.value, onset)))
            state = force if mark.value in DYNAMICS or mark.value in _AFTER or not state else state
        elif rested or (force != state and (voiced.turns(before, onset, staff) or not voiced.swelling(onset, staff))):
            found.append(Placed(onset, "dynamic", force))
            state = force
        for k in range(bisect_right(onsets, onset), len(onsets)):
            if onsets[k] >= end:
                break
            if end - onsets[k] < min((end - onset) / 2, 2 * grid.ticks):
                continue
            value = voiced.own(changes[k].value, onsets[k])
            if voiced.concerns(changes[k], staff) and value != state and onsets[k] not in attacks:
                state = value
                found.append(Placed(onsets[k], "dynamic", state))
        ended, before = max(ended, end), onset
    return found


def wedges_of(
    notes: Sequence[Played], staff_of: Sequence[int], voiced: Voiced, grid: Grid, player: Player
) -> list[Placed]:
    """The hairpins of one player, cut to where he sounds; none shorter than a quarter, none overlapping, none on a single note
    that is struck, short or the last before a rest. After a rest for which his dynamic is said again, and where he begins or ends
    to give way, a new one begins."""
    found: list[Placed] = []
    free, bar_ends = 0, [bar.end for bar in grid.bars]
    onsets = [note.onset for note in notes]
    for wedge in voiced.wedges:
        start, stop = max(wedge.onset * voiced.factor, free), wedge.end * voiced.factor
        inside = [
            (note, staff)
            for note, staff in zip(notes[: bisect_right(onsets, stop - 1)], staff_of, strict=False)
            if note.end > start and voiced.concerns(wedge, staff)
        ]
        runs: list[list[int]] = []
        before = start
        for note, staff in inside:
            turned = voiced.turns(before, note.onset, staff)
            if runs and turned:
                runs[-1][1] = min(runs[-1][1], note.onset)
            if runs and not turned and not _rests(runs[-1][1], note.onset, voiced, grid, bar_ends):
                runs[-1][1] = max(runs[-1][1], note.end)
            else:
                runs.append([note.onset, note.end])
            before = note.onset
        for first, last in runs:
            first, last = max(start, first), min(stop, last)
            under = [note for note, _ in inside if note.onset < last and note.end > first]
            if (
                last - first >= voiced.house.dynamics["least_wedge_quarters"] * grid.ticks
                and (wedge not in voiced.swells or _sings(under, first, last, voiced.house))
                and _grows(under, wedge.value, (first, last, stop), player, grid.ticks, voiced.house)
            ):
                found += [Placed(first, "wedge", wedge.value), Placed(last, "wedge", "stop")]
                free = last
    return found


def _sings(under: Sequence[Played], first: int, last: int, house: Notation) -> bool:
    """The notes fill enough of the time from first to last (ticks)."""
    sounding, free = 0, first
    for note in under:
        sounding += max(0, min(note.end, last) - max(note.onset, free))
        free = max(free, min(note.end, last))
    return bool(sounding >= house.dynamics["sung_share"] * (last - first))


def _grows(
    under: Sequence[Played], value: str, edges: tuple[int, int, int], player: Player, quarter: int, house: Notation
) -> bool:
    """The notes can be heard to grow or to die away: two attacks at least, or one note that is held for long enough by somebody
    who can, and that does not grow into a rest.

    Args:
        edges: where the hairpin begins and ends for the player, and where it ends for others (ticks).
    """
    first, last, stop = edges
    if len({note.onset for note in under if note.onset >= first}) > 1:
        return True
    least = house.dynamics["held_wedge_quarters"] * quarter
    return (value != "crescendo" or last == stop) and any(
        min(note.end, last) - max(note.onset, first) >= least and not _struck(note, player, house) for note in under
    )


def _struck(note: Played, player: Player, house: Notation) -> bool:
    """It only dies away once it sounds."""
    if any(mark.startswith(TREMBLING) for mark in note.note.marks):
        return False
    plucked = any("rings_s" in house.techniques[way] for way in note.techniques)
    return plucked or player.instrument.kind in STRUCK


def _rests(end: int, onset: int, voiced: Voiced, grid: Grid, bar_ends: Sequence[int]) -> bool:
    """From the end of a note to the next one it is long enough for the dynamic to be said again."""
    bar = grid.bars[min(bisect_right(bar_ends, onset), len(bar_ends) - 1)]
    return bool(onset - end >= voiced.house.dynamics["again_after_bars"] * bar.length)


def words_of(notes: Sequence[Played], staff_of: Sequence[int], voiced: Voiced) -> list[Placed]:
    """Words that stand at an attack of the player, without those for everybody and those for a pianist's hands."""
    attacks = {(note.onset, staff) for note, staff in zip(notes, staff_of, strict=True)}
    found = dict.fromkeys(
        Placed(mark.onset * voiced.factor, "words", mark.value)
        for mark in voiced.words
        if mark.staff >= 0
        and not _begins(mark.value, voiced.house.everybody + voiced.house.hands)
        and (mark.onset * voiced.factor, mark.staff) in attacks
    )
    return list(found)


def top_marks(
    sketch: Sketch, reading: Reading, grid: Grid, house: Notation, letters: Sequence[Placed] = ()
) -> list[Placed]:
    """What stands once on top of the score: tempo, words about it, rehearsal marks (`letters` are ours). A
    first tempo mark at the first full bar holds for the pickup before it too; words at a bare metronome mark are its own."""
    found = list(letters)
    bare = {mark.onset for mark in sketch.marks if mark.kind == "tempo" and not mark.text}
    everybody = [mark for mark in sketch.marks if mark.kind == "words" and _begins(mark.value, house.everybody)]
    own = {mark.onset: mark.value for mark in everybody if mark.onset in bare}
    for mark in sketch.marks:
        tick = mark.onset * grid.factor
        if mark.kind == "tempo":
            found.append(Placed(tick, mark.kind, mark.value, mark.text or own.get(mark.onset, "")))
        elif mark.kind == "rehearsal":
            found.append(Placed(tick, mark.kind, mark.value, mark.text))
        elif (mark in everybody or (mark.kind == "words" and mark.staff < 0)) and mark.value != own.get(mark.onset):
            found.append(Placed(tick, "words", mark.value))
    first = next((m for m in found if m.kind == "tempo" and m.value), None)
    if first and first.tick <= (grid.bars[0].end if grid.bars[0].number == PICKUP else 0):
        found[found.index(first)] = replace(first, tick=0)
    elif first is None or first.tick:
        words = next((m for m in found if m.kind == "tempo" and m.tick == 0), None)
        found = [m for m in found if m is not words]
        found.append(Placed(0, "tempo", f"{reading.tempo:g}", words.text if words else ""))
    order = {"rehearsal": 0, "tempo": 1, "words": 2}
    once = dict.fromkeys(replace(mark, everybody=True) for mark in found)
    return sorted(once, key=lambda m: (m.tick, order[m.kind]))


def _manner(text: str, house: Notation) -> bool:
    """Some of a cue's words are for the player."""
    return any(_begins(word, house.manner) for word in text.split())


def _begins(text: str, words: Sequence[str]) -> bool:
    return text.strip().lower().lstrip("(").startswith(tuple(words))
