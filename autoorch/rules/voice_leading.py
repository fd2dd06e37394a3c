"""Motion between real parts: no parallel perfect intervals that the sketch does not have itself, and no leading note or seventh
that a part of ours resolves beside another real part."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise, product

from autoorch.layers.model import MaterialNote
from autoorch.problem.data import ProblemData, Span
from autoorch.problem.profile import Profile
from autoorch.problem.terms import Cost, Limit, both

NAME = "voice_leading"
PERFECT = (0, 7)
REAL = ("inner", "counterline", "bass", "pedal")
"""Roles whose lines are real parts besides the tune, which may have what another part has."""
SETS = "harmony"
"""Layer of the sets of held chords, each of which sounds whole."""
STEPS = (1, 2)
"""Semitones by which a note that resolves moves, up or down."""


@dataclass(frozen=True, slots=True)
class Resolution:
    """A note that resolves: ticks of its beginning and end, the pitch classes before, at and after it."""

    start: int
    end: int
    before: int | None
    at: int
    after: int


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


def resolutions(data: ProblemData, notes: Sequence[MaterialNote]) -> list[Resolution]:
    """The notes of a line that are a leading note or a seventh of the chord in which they end, and go on by step. What it had
    in the stretch of the plan before says nothing of how it leads."""
    joints = sorted({start for phrase in data.plan for start, _, _ in phrase.parts})
    found = []
    own = [note for note in notes if note.duration > 0]
    classes = [note.pitch.midi % 12 for note in own]
    for place, note in enumerate(own):
        at = classes[place]
        chord = data.chord_at(note.end - 1)
        after = next((other for other in classes[place + 1 :] if other != at), None)
        if chord is None or at not in chord.tendency or after is None:
            continue
        if min((after - at) % 12, (at - after) % 12) in STEPS:
            last = own[place - 1].onset if place else 0
            joined = place and bisect_right(joints, last) == bisect_right(joints, note.onset)
            before = classes[place - 1] if joined else None
            found.append(Resolution(note.onset, note.end, before, at, after))
    return found


def doubled(first: Sequence[Resolution], second: Sequence[Resolution]) -> int:
    """How often two lines have the same note that resolves at once and go on alike, though they came from different notes: lines
    that come from the same one as well, or begin with it, are copies of one part."""
    return sum(
        (a.at, a.after) == (b.at, b.after)
        and a.before != b.before
        and None not in (a.before, b.before)
        and (a.start < b.end and b.start < a.end)
        for a, b in product(first, second)
    )


def costs(data: ProblemData) -> Iterator[Cost]:
    """Pairs of assigned lines in octaves that turn fourths into parallel fifths, and of parts that resolve the same note."""
    weights = data.tables.rule(NAME)["weights"]
    yield from _parallel(data, weights["parallel"])
    yield from _doubled(data, weights["doubled"])


def _doubled(data: ProblemData, weight: int) -> Iterator[Cost]:
    """A set of held chords beside another one, or beside a part of the sketch or a second line."""
    led = {
        (number, k): resolutions(data, line.notes)
        for number, strand in enumerate(data.strands)
        if strand.role in REAL
        for k, line in enumerate(strand.lines)
    }

    def inside(span: Span) -> dict[int, list[Resolution]]:
        return {k: [r for r in led.get((span.strand, k), ()) if span.start <= r.start < span.end] for k in span.lines}

    done: set[tuple[int, int]] = set()
    for cell in data.cells:
        spans = [data.spans[index] for index in cell.spans if data.strands[data.spans[index].strand].role in REAL]
        for one, other in combinations(spans, 2):
            ours = [span for span in (one, other) if data.strands[span.strand].layer == SETS]
            if not ours or (one.index, other.index) in done:
                continue
            done.add((one.index, other.index))
            chords, part = ours[0], other if ours[0] is one else one
            own = [r for found in inside(chords).values() for r in found]
            counts: dict[int, int] = defaultdict(int)
            for line, found in inside(part).items():
                counts[min(part.lines) if part in ours else line] += doubled(own, found)
            for line, count in counts.items():
                x, y = data.sounding(chords.index, min(chords.lines)), data.sounding(part.index, line)
                if count and x is not None and y is not None:
                    phrase = max(one.phrase, other.phrase)
                    yield both(NAME, phrase, weight * count, x, y, "two parts resolve the same note")


def _parallel(data: ProblemData, weight: int) -> Iterator[Cost]:
    """Pairs of assigned lines in octaves that turn fourths into parallel fifths."""
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
