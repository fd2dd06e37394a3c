"""The sketch's slurs in the players' hands: the notes that each of them covers there.

A slur covers the notes between its ends in their line, and where its ends are chords also those of the other lines that
go from one chord to the other; where its ends are in two lines, what either has between them. Each unbroken run of at least
two of them in one hand is one slur. A figure under the pedal is slurred bar by bar, from rest to rest.
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
        across: slurs between two lines, as the ids of their notes in time order.
        place: sketch note id -> its place among the main notes of its line.
    """

    covering: dict[str, tuple[int, ...]]
    across: tuple[tuple[str, ...], ...]
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
        across = []
        for number, slur in enumerate(sketch.slurs):
            if slur.first not in home or slur.last not in home:
                continue
            firsts, lasts = places(slur.first), places(slur.last)
            if home[slur.first][0] != home[slur.last][0]:
                between = range(sketch.by_id[slur.first].onset, sketch.by_id[slur.last].onset + 1)
                own = [
                    n for end in (slur.first, slur.last) for n in main[home[end][0]] if sketch.by_id[n].onset in between
                ]
                across.append(tuple(sorted(own, key=lambda n: sketch.by_id[n].onset)))
            for shared in firsts.keys() & lasts.keys():
                for note in main[shared][firsts[shared] : lasts[shared] + 1]:
                    covering[note].append(number)
        place = {note: k for own in main.values() for k, note in enumerate(own)}
        return Slurs({note: tuple(found) for note, found in covering.items()}, tuple(across), place)

    def in_hand(self, notes: Sequence[Played], pedal: Pedal) -> tuple[tuple[Played, ...], ...]:
        """The slurs of one player, each as the notes it covers."""
        lines: dict[tuple[str, int], list[Played]] = defaultdict(list)
        for note in notes:
            lines[note.line, note.octave].append(note)
        found = [run for own in lines.values() for run in self._runs(own, pedal)]
        for octave in sorted({note.octave for note in notes}):
            by_id = {note.note.id: note for note in notes if note.octave == octave}
            for ids in self.across:
                found += _unbroken([by_id[each] for each in ids if each in by_id])
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
            rested = before is not None and before.end < note.onset
            for number in [n for n in open_ if n not in covers or not joined or (rested and n < 0)]:
                found.append(open_.pop(number))
            for number in covers:
                open_.setdefault(number, []).append(note)
            before = note
        found += open_.values()
        return [tuple(run) for run in found if len(run) > 1]

    def _follows(self, before: Played, note: Played) -> bool:
        a, b = self.place.get(before.note.id), self.place.get(note.note.id)
        return a is not None and b == a + 1 and before.octave == note.octave


def _unbroken(notes: Sequence[Played]) -> list[tuple[Played, ...]]:
    """The runs in which each note begins where the one before it ends."""
    runs: list[list[Played]] = []
    for note in notes:
        if runs and runs[-1][-1].onset < note.onset <= runs[-1][-1].end:
            runs[-1].append(note)
        else:
            runs.append([note])
    return [tuple(run) for run in runs if len(run) > 1]
