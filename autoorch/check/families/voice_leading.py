"""Parallel perfect intervals between real parts; octaves that go on are a doubling and no fault."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from autoorch.check.find import Fault, state
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding


def parallels(score: Score, limits: Limits) -> Iterator[Finding]:
    """Consecutive fifths by similar motion between any two parts; octaves only between parts that are independent before
    and after. The same fault in several doubled parts is one finding."""
    table = limits.of("parallels")
    lines = [part for part in score.parts if part.kind in ("wind", "bowed", "voice")]
    told: dict[tuple[int, str, frozenset[int]], Fault] = {}
    for one, two in combinations(lines, 2):
        for key, fault in _parallel(one, two, _together(one, two), table["seconds"], int(table["doubled"])):
            told.setdefault(key, fault)
    for fault in told.values():
        yield from state(score, "parallels", table["source"], [fault])


def _together(one: Part, two: Part) -> list[tuple[Note, Note]]:
    """Notes that both parts attack at the same tick, single notes only."""
    other = {group[0].start: group[0] for group in two.onsets if len(group) == 1}
    return [
        (group[0], other[group[0].start]) for group in one.onsets if len(group) == 1 and group[0].start in other
    ]  # fmt: skip


def _parallel(
    one: Part, two: Part, pairs: Sequence[tuple[Note, Note]], seconds: float, doubled: int
) -> Iterator[tuple[tuple[int, str, frozenset[int]], Fault]]:
    """Runs of the same perfect interval, with a key that is the same for all doublings of one fault."""
    first = 0
    while first < len(pairs):
        last = first
        while last + 1 < len(pairs) and _perfect(pairs[first]) and _moves(pairs[last], pairs[last + 1], seconds):
            last += 1
        if last > first:
            run = pairs[first : last + 1]
            octaves = (run[0][0].pitch - run[0][1].pitch) % 12 == 0
            around = [*pairs[max(0, first - 1) : first], *pairs[last + 1 : last + 2]]
            free = len(run) < doubled and len(around) == 2 and not any(_same(pair) for pair in around)
            if not octaves or (
                free and _contiguous(pairs[first - 1], run[0]) and _contiguous(run[-1], pairs[last + 1])
            ):
                kind = "octaves" if octaves else "fifths"
                classes = frozenset(note.pitch % 12 for note in run[1])
                yield (run[1][0].start, kind, classes), _fault(one, two, run, kind)
        first = last + 1


def _same(pair: tuple[Note, Note]) -> bool:
    return (pair[0].pitch - pair[1].pitch) % 12 == 0


def _contiguous(before: tuple[Note, Note], now: tuple[Note, Note]) -> bool:
    return all(second.start == first.end for first, second in zip(before, now, strict=True))


def _perfect(pair: tuple[Note, Note]) -> bool:
    """An octave or unison, or a fifth (not a fourth)."""
    wide = abs(pair[0].pitch - pair[1].pitch) % 12
    return wide in (0, 7)


def _moves(before: tuple[Note, Note], now: tuple[Note, Note], seconds: float) -> bool:
    upper, lower = now[0].pitch - before[0].pitch, now[1].pitch - before[1].pitch
    same = abs(now[0].pitch - now[1].pitch) % 12 == abs(before[0].pitch - before[1].pitch) % 12
    slow = now[0].until - now[0].at >= seconds
    return _contiguous(before, now) and _perfect(now) and same and upper * lower > 0 and slow


def _fault(one: Part, two: Part, run: Sequence[tuple[Note, Note]], kind: str) -> Fault:
    names = f"{run[0][0].name}/{run[0][1].name} to {run[1][0].name}/{run[1][1].name}"
    message = f"parallel {kind} with {two.name}: {names}"
    return Fault(one, run[1][0].start, "style", f"{len(run)} {kind}", "1", message, len(run))


RULES = (parallels,)
