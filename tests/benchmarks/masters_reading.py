"""A passage's reading with what its score tells: the tune that is annotated, and the lines that its parts really have.

Harmony and the kind of accompaniment are read as for any sketch, and phrases, which are cut besides where the score's dynamic
changes for some bars (a passage starts and ends anywhere); which notes belong together is taken from the score, so that a
measurement of the rules is none of the role splitter.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from autoorch.roles import read_roles
from autoorch.roles.model import Line, Phrase, Reading, Strand
from autoorch.sketch.model import Sketch, SketchNote
from autoorch.tables import Tables, load_tables
from tests.benchmarks.masters_score import Passage

CHANGE = 0.34
"""The players change at a bar line where this share of those of the bars around it is on one side only."""
BESIDE = 2
"""Bars on either side that are compared, and the shortest piece of a phrase that is cut off."""
TOGETHER = 0.6
"""Lines are one strand where they share this share of their attacks."""
SHARED = 0.8
"""A part shares a line where it strikes this share of its notes, in one octave."""
LOW = 60
"""A bass lies below this pitch on average; a higher lowest line is an inner one."""
MOST = 4
"""Lines of one strand, at most."""
_Kind = tuple[str, str]
_Group = tuple[str, str, list[list[SketchNote]]]


def reading_of(passage: Passage, tables: Tables) -> Reading:
    """The reading of the reduction: every note in one line of one strand."""
    read = read_roles(passage.sketch, tables)
    read = read.with_(phrases=tuple(by_dynamic(passage.sketch, read.phrases)))
    kinds = {note: (s.role, s.texture) for s in read.strands for line in s.lines for note in line.notes}
    tune = one_at_a_time([note for note in passage.sketch.notes if note.id in passage.main])
    joints = segments(passage, read.phrases)
    strands: dict[tuple[str, str, int], dict[int, list[str]]] = defaultdict(lambda: defaultdict(list))
    for start, end in joints:
        notes = [note for note in passage.sketch.notes if start <= note.onset < end]
        lead = [note for note in tune if start <= note.onset < end]
        count: Counter[_Kind] = Counter()
        for role, name, lines in grouped(passage, notes, lead, kinds):
            for k in range(0, len(lines), MOST):
                for place, line in enumerate(lines[k : k + MOST]):
                    strands[role, name, count[role, name]][place] += [note.id for note in line]
                count[role, name] += 1
    cuts = tuple(sorted({start for start, _ in joints} - {phrase.start for phrase in read.phrases}))
    found = [
        Strand(
            f"s{number}",
            role,
            tuple(Line(f"s{number}.{place + 1}", tuple(lines[place])) for place in sorted(lines)),
            name,
            cuts=cuts,
        )
        for number, ((role, name, _), lines) in enumerate(strands.items(), 1)
    ]
    return read.with_(strands=tuple(found))


def by_dynamic(sketch: Sketch, phrases: Sequence[Phrase]) -> Iterator[Phrase]:
    """Phrases cut where the dynamic changes for `BESIDE` bars and more, instead of at a joint nearer to there than that.

    Each piece is of the phrase that has most of it, with the dynamic that is longest in force.
    """
    first, end = phrases[0].start, phrases[-1].end
    marks = [mark for mark in sketch.marks if mark.kind == "dynamic" and mark.onset < end]
    inforce = [
        (mark.onset, after.onset if after else end, mark.value) for mark, after in pairwise((*marks, None)) if mark
    ]
    shortest = BESIDE * sketch.bar_at(first).length
    lasting = [entry for entry in inforce if entry[1] - entry[0] >= shortest]
    changes = [start for (_, _, before), (start, _, value) in pairwise(lasting) if value != before]
    joints = [phrase.start for phrase in phrases if all(abs(phrase.start - tick) >= shortest for tick in changes)]
    for start, stop in pairwise([*sorted({first, *changes, *joints}), end]):
        ticks: Counter[str] = Counter()
        for since, until, value in inforce:
            ticks[value] += max(0, min(until, stop) - max(since, start))
        phrase = max(phrases, key=lambda own: min(own.end, stop) - max(own.start, start))
        longest = max(ticks, key=lambda value: ticks[value], default=phrase.dynamic)
        yield replace(phrase, start=start, end=stop, dynamic=longest)


def one_at_a_time(notes: Sequence[SketchNote]) -> list[SketchNote]:
    """The highest note of each attack, none while the one before lasts."""
    found: list[SketchNote] = []
    for note in sorted(notes, key=lambda n: (n.onset, -n.pitch.midi)):
        if not found or note.onset >= found[-1].end:
            found.append(note)
    return found


def segments(passage: Passage, phrases: Sequence[Phrase]) -> list[tuple[int, int]]:
    """Phrases, cut at bar lines at which the players change."""
    bars = passage.sketch.bars
    playing = [
        {player for player, own in passage.played.items() if any(bar.onset <= n.onset < bar.end for n in own)}
        for bar in bars
    ]
    found = []
    for phrase in phrases:
        edges = [phrase.start]
        for k in range(BESIDE, len(bars) - BESIDE + 1):
            tick = bars[k].onset
            shortest = BESIDE * bars[k].length
            if not (edges[-1] + shortest <= tick <= phrase.end - shortest):
                continue
            before, after = set().union(*playing[k - BESIDE : k]), set().union(*playing[k : k + BESIDE])
            if len(before ^ after) > CHANGE * len(before | after):
                edges.append(tick)
        found += list(zip(edges, [*edges[1:], phrase.end], strict=True))
    return found


def grouped(
    passage: Passage, notes: Sequence[SketchNote], lead: Sequence[SketchNote], kinds: dict[str, _Kind]
) -> Iterator[_Group]:
    """(role, texture, lines) of one segment: the tune, the bass, and the other lines by their rhythm.

    Args:
        kinds: note -> role and texture in which it was read; the commonest of a group's notes is the group's.
    """
    if lead:
        yield "melody", "tune", [list(lead)]
    taken = {note.id for note in lead}
    lines = real_lines(passage, [note for note in notes if note.id not in taken])
    lowest: dict[int, SketchNote] = {}
    for note in notes:
        if note.onset not in lowest or note.pitch.midi < lowest[note.onset].pitch.midi:
            lowest[note.onset] = note
    low = {note.id for note in lowest.values()}
    weights = [sum(note.duration for note in line if note.id in low) for line in lines]
    total = sum(note.duration for note in lowest.values())
    if weights and max(weights) * 3 > total:
        place = weights.index(max(weights))
        if sum(note.pitch.midi for note in lines[place]) < LOW * len(lines[place]):
            yield "bass", "line", [lines.pop(place)]
    while lines:
        first = lines.pop(0)
        mates = [line for line in lines if _alike(first, line)]
        lines = [line for line in lines if line not in mates]
        group = sorted([first, *mates], key=lambda line: -sum(n.pitch.midi for n in line) / len(line))
        read = Counter(kinds[note.id] for line in group for note in line)
        outer = [kind for kind in read if kind[0] in ("melody", "bass")]
        for kind in outer:
            read["inner", "line"] += read.pop(kind)
        role, name = max(read, key=lambda kind: (read[kind], kind))
        yield role, name, group


def real_lines(passage: Passage, notes: Sequence[SketchNote]) -> list[list[SketchNote]]:
    """The notes as lines, those that most parts share first: what one player has of them in one octave, note by note."""
    farthest = load_tables().rule("continuity")["cut"]["octaves"]
    free = {note.id: note for note in notes}
    struck: dict[tuple[int, int], set[str]] = defaultdict(set)
    for player, own in passage.played.items():
        for played in own:
            struck[played.onset, played.pitch.midi].add(player)
    has: dict[tuple[str, int], set[str]] = defaultdict(set)
    for note in notes:
        for octave in range(-farthest, farthest + 1):
            for player in struck[note.onset, note.pitch.midi + 12 * octave]:
                has[player, octave].add(note.id)
    found = []
    while free:
        best: tuple[int, list[SketchNote]] = (0, [])
        for key, own_ in sorted(has.items()):
            line = one_at_a_time([note for name, note in free.items() if name in own_])
            names = {note.id for note in line}
            shared = sum(len(names & other) >= SHARED * len(names) for k, other in has.items() if k[0] != key[0])
            if len(line) * (1 + shared) > best[0]:
                best = len(line) * (1 + shared), line
        for note in best[1]:
            del free[note.id]
        found.append(best[1])
    return found


def _alike(first: Sequence[SketchNote], second: Sequence[SketchNote]) -> bool:
    one, two = {n.onset for n in first}, {n.onset for n in second}
    return len(one & two) >= TOGETHER * len(one | two)
