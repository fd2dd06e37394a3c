"""Motion between real parts: no parallel perfect intervals that the sketch does not have itself."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

from autoorch.problem.data import ProblemData
from autoorch.problem.profile import Profile
from autoorch.problem.terms import Cost, Limit, both

NAME = "voice_leading"
PERFECT = (0, 7)


def limits(data: ProblemData) -> Iterator[Limit]:
    """None: parallels are dear, and where the sketch has them they are the composer's."""
    return iter(())


def moves(first: Profile, second: Profile) -> list[tuple[int, int, int, int]]:
    """(first before, second before, first after, second after) wherever both lines attack together twice in a row."""
    attacks = {note.onset: note.pitch.midi for note in second.notes if note.duration > 0}
    pairs = [
        (note.pitch.midi, attacks[note.onset]) for note in first.notes if note.duration > 0 and note.onset in attacks
    ]
    return [(a, b, c, d) for (a, b), (c, d) in pairwise(pairs)]


def parallels(found: list[tuple[int, int, int, int]], shift: int = 0) -> int:
    """Perfect fifths, octaves and unisons reached by both lines moving the same way from the same interval (Fux).

    Args:
        found: from `moves`.
        shift: semitones added to the first line.
    """
    count = 0
    for a, b, c, d in found:
        before, after = a + shift - b, c + shift - d
        if before * after > 0 or before == after == 0:
            same = (c - a) * (d - b) > 0
            if same and abs(before) % 12 == abs(after) % 12 and abs(after) % 12 in PERFECT:
                count += 1
    return count


def costs(data: ProblemData) -> Iterator[Cost]:
    """Pairs of assigned lines in octaves that turn fourths into parallel fifths."""
    weight = data.tables.rule(NAME)["weights"]["parallel"]
    done: set[tuple[tuple[int, int], tuple[int, int]]] = set()
    for cell in data.cells:
        lines = [
            (index, k)
            for index in cell.spans
            for k in data.spans[index].lines
            if data.is_assigned(data.spans[index].strand)
            and not data.strands[data.spans[index].strand].lines[k].reduced
        ]
        for a, b in combinations(lines, 2):
            if (a, b) in done:
                continue
            done.add((a, b))
            found = moves(data.spans[a[0]].lines[a[1]], data.spans[b[0]].lines[b[1]])
            if not found:
                continue
            own = parallels(found)
            for i in sorted({o.octave for o in data.by_line.get(a, ())}):
                for j in sorted({o.octave for o in data.by_line.get(b, ())}):
                    extra = parallels(found, 12 * (i - j)) - own if i != j else 0
                    x, y = data.sounding(*a, octave=i), data.sounding(*b, octave=j)
                    if extra > 0 and x is not None and y is not None:
                        phrase = max(data.spans[a[0]].phrase, data.spans[b[0]].phrase)
                        yield both(NAME, phrase, weight * extra, x, y, "parallel perfect intervals")
