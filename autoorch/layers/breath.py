"""Room to breathe for winds: held chords stop a little before each phrase, in a long one before bar lines too, line by line; a
player can hand on to another one in the middle of that."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialNote, MaterialStrand

HANDED_ON = ("inner", "figure", "rhythm", "counterline", "bass", "pedal")
"""Roles that may change hands in the middle of a long phrase; a tune stays where it is."""


def easy_breath(cue: Cue, players: Sequence[str]) -> float | None:
    """Seconds after which the first of these instruments should breathe; None where none of them has to."""
    known = (cue.tables.instruments[name].fluency.stretch_s for name in players)
    return min((stretch[0] for stretch in known if stretch is not None), default=None)


def breathed(
    cue: Cue, lines: Sequence[Sequence[MaterialNote]], joints: Collection[int], easy: float
) -> list[list[MaterialNote]]:
    """The lines of a set, none of which goes on for much longer than `easy` seconds without a rest.

    All of them stop before each phrase, whoever plays on: what is too short there to leave time for a breath is left out. Inside
    a phrase that lasts longer they stop where it turns (`joints`, ticks), or every other line where its neighbours hold. A note
    that is held over its breath is played again.
    """
    return [list(_broken(cue, list(_lifted(cue, line)), joints, easy, first=k % 2)) for k, line in enumerate(lines)]


def _lifted(cue: Cue, line: Sequence[MaterialNote]) -> Iterator[MaterialNote]:
    """The line with a rest before each phrase but the first."""
    for note in line:
        while note.end > (joint := cue.plan_at(note.onset).end) - _rest(cue, joint) and joint < cue.plan[-1].end:
            left, inside = joint - _rest(cue, joint) - note.onset, min(note.end, joint) - note.onset
            if 2 * left >= inside:
                yield replace(note, duration=left)
            if note.end <= joint:
                break
            note = replace(note, id=f"{note.id}p", onset=joint, duration=note.end - joint)
        else:
            yield note


def _broken(
    cue: Cue, line: Sequence[MaterialNote], joints: Collection[int], easy: float, *, first: int
) -> Iterator[MaterialNote]:
    stops = sorted(_stops(cue, line, joints, easy, first=first))
    for note in line:
        edges = [note.onset, *(tick for tick in stops if note.onset < tick < note.end), note.end]
        for number, (start, end) in enumerate(pairwise(edges)):
            rest = _rest(cue, end) if end in stops else 0
            length = end - start - (rest if 2 * rest <= end - start else 0)
            yield replace(note, id=f"{note.id}{'b' * number}", onset=start, duration=length)


def _rest(cue: Cue, end: int) -> int:
    """Ticks of the shortest note value that leaves time to breathe before `end`."""
    table = cue.tables.rule("playability")["breath"]
    value = cue.quarters(table["rest_quarters"])
    while value < end and cue.seconds(end - value, end) < table["gap_s"]:
        value *= 2
    return value


def _stops(
    cue: Cue, line: Sequence[MaterialNote], joints: Collection[int], easy: float, *, first: int
) -> Iterator[int]:
    """Ticks before which the line has a rest: phrase joints, else bar lines or other notes, each as late as the breath allows."""
    for run in _runs(line):
        begun, free = run[0].onset, list[int]()
        places = [*_places(cue, run), run[-1].end]
        rest = next((tick for tick in places if tick in joints), run[-1].end)
        limit = easy / 2 if first and cue.seconds(begun, rest) > easy else easy
        for place in places:
            while free and cue.seconds(begun, place) > limit:
                begun = max([tick for tick in free if tick in joints] or free)
                free = [tick for tick in free if tick > begun]
                limit = easy
                yield begun
            free.append(place)


def _runs(line: Sequence[MaterialNote]) -> Iterator[list[MaterialNote]]:
    """Notes that follow each other without a rest."""
    run: list[MaterialNote] = []
    for note in line:
        if run and note.onset > run[-1].end:
            yield run
            run = []
        run.append(note)
    yield run


def _places(cue: Cue, run: Sequence[MaterialNote]) -> Iterator[int]:
    """Ends of notes, and bar lines inside them, that leave room for a rest."""
    bars = [bar.onset for bar in cue.sketch.bars]
    for note in run:
        for tick in (*(tick for tick in bars if note.onset < tick < note.end), note.end):
            if tick < run[-1].end and tick - note.onset >= 2 * _rest(cue, tick):
                yield tick


def relieved(cue: Cue, strands: Sequence[MaterialStrand]) -> tuple[MaterialStrand, ...]:
    """The strands, with one more cut in each phrase that is longer than a comfortable breath: at the bar line nearest to its
    middle over which no line holds a note, so that one player of a pair can relieve the other. Tunes are cut where the plan has
    somebody join them, and nowhere near."""
    long = cue.tables.rule("playability")["breath"]["relief_s"]
    phrases = [(plan.start, plan.end) for plan in cue.plan if cue.seconds(plan.start, plan.end) > long]
    return tuple(
        replace(strand, cuts=tuple(sorted({*strand.cuts, *_middles(cue, strand, phrases)})))
        if strand.role in HANDED_ON
        else replace(strand, cuts=_joints(cue, strand))
        if strand.role == "melody"
        else strand
        for strand in strands
    )


def _joints(cue: Cue, strand: MaterialStrand) -> tuple[int, ...]:
    """The strand's cuts, with those of the plan in place of their neighbours."""
    shortest = cue.tables.rule("continuity")["shortest_bars"]
    joints = {
        turn.start: shortest * cue.sketch.bar_at(turn.start).length for p in cue.plan for turn in p.turns if turn.tune
    }
    kept = {cut for cut in strand.cuts if all(abs(cut - tick) >= near for tick, near in joints.items())}
    return tuple(sorted(kept.union(joints)))


def _middles(cue: Cue, strand: MaterialStrand, phrases: Sequence[tuple[int, int]]) -> Iterator[int]:
    for start, end in phrases:
        bars = [bar.onset for bar in cue.sketch.bars if start < bar.onset < end]
        held = [(n.onset, n.end) for line in strand.lines for n in line.notes if start <= n.onset < end]
        free = [tick for tick in bars if not any(a < tick < b for a, b in held)]
        if held and free and not any(start < cut < end for cut in strand.cuts):
            yield min(free, key=lambda tick: (abs(2 * tick - start - end), tick))
