"""The sketch's slurs in the players' hands: the notes that each of them covers there.

A slur covers the notes between its ends in their line, and where its ends are chords also those of the other lines that
go from one chord to the other; each unbroken run of at least two of them in one hand is one slur. A figure under the pedal
is slurred bar by bar.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from autoorch.roles.model import Reading
from autoorch.score.pedal import Pedal
from autoorch.score.streams import Played
from autoorch.sketch.model import Sketch


@dataclass(frozen=True)
class Slurs:
    """The slurs of a sketch by what they cover.

    Attributes:
        covering: sketch note id -> numbers of the slurs that cover it.
        ends: slurs between two lines, as (first, last) note ids.
        place: sketch note id -> its place among the main notes of its line.
    """

    covering: dict[str, tuple[int, ...]]
    ends: tuple[tuple[str, str], ...]
    place: dict[str, int]

    @staticmethod
    def of(sketch: Sketch, reading: Reading) -> Slurs:
        home: dict[str, tuple[str, int]] = {}
        main: dict[str, list[str]] = {}
        for strand in reading.strands:
            for line in strand.lines:
                own = main[line.id] = []
                for note in line.notes:
                    home[note] = (line.id, len(own))
                    if sketch.by_id[note].duration:
                        own.append(note)
        chords: dict[tuple[int, int, int], list[str]] = defaultdict(list)
        for sounding in sketch.notes:
            if sounding.duration and sounding.id in home:
                chords[sounding.onset, sounding.staff, sounding.voice].append(sounding.id)

        def places(end: str) -> dict[str, int]:
            """Line -> the place in it, of a slur's end and of what stands in the same chord."""
            note = sketch.by_id[end]
            mates = chords.get((note.onset, note.staff, note.voice), ())
            return dict(home[each] for each in (*mates, end))

        covering: dict[str, list[int]] = defaultdict(list)
        ends = []
        for number, slur in enumerate(sketch.slurs):
            if slur.first not in home or slur.last not in home:
                continue
            firsts, lasts = places(slur.first), places(slur.last)
            if home[slur.first][0] != home[slur.last][0]:
                ends.append((slur.first, slur.last))
            for shared in firsts.keys() & lasts.keys():
                for note in main[shared][firsts[shared] : lasts[shared] + 1]:
                    covering[note].append(number)
        place = {note: k for own in main.values() for k, note in enumerate(own)}
        return Slurs({note: tuple(found) for note, found in covering.items()}, tuple(ends), place)

    def in_hand(self, notes: Sequence[Played], pedal: Pedal) -> tuple[tuple[Played, ...], ...]:
        """The slurs of one player, each as the notes it covers."""
        lines: dict[tuple[str, int], list[Played]] = defaultdict(list)
        for note in notes:
            lines[note.line, note.octave].append(note)
        found = [run for own in lines.values() for run in self._runs(own, pedal)]
        by_id = {note.note.id: note for note in notes}
        for first, last in self.ends:
            if first in by_id and last in by_id and by_id[first].onset < by_id[last].onset:
                found.append((by_id[first], by_id[last]))
        return tuple(sorted(found, key=lambda run: (run[0].onset, -run[-1].end, -run[0].midi)))

    def _runs(self, notes: Iterable[Played], pedal: Pedal) -> list[tuple[Played, ...]]:
        open_: dict[int, list[Played]] = {}
        found: list[list[Played]] = []
        before: Played | None = None
        for note in notes:
            covers = self.covering.get(note.note.id, ())
            if not covers and (bar := pedal.slurred(note)):
                covers = (-bar,)
            joined = before is not None and self._follows(before, note)
            for number in [n for n in open_ if n not in covers or not joined]:
                found.append(open_.pop(number))
            for number in covers:
                open_.setdefault(number, []).append(note)
            before = note
        found += open_.values()
        return [tuple(run) for run in found if len(run) > 1]

    def _follows(self, before: Played, note: Played) -> bool:
        a, b = self.place.get(before.note.id), self.place.get(note.note.id)
        return a is not None and b == a + 1 and before.octave == note.octave
