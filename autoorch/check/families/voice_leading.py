"""Parallel perfect intervals between real parts; octaves that go on are a doubling and no fault."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from autoorch.check.find import Fault, state
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding


def parallels(score: Score, limits: Limits) -> Iterator[Finding]:
    """Consecutive fifths or octaves by similar motion between two parts of one family that are otherwise independent."""
    table = limits.of("parallels")
    lines = [part for part in score.parts if part.kind in ("wind", "bowed", "voice") and part.instrument]
    for one, two in combinations(lines, 2):
        assert one.instrument and two.instrument
        if one.instrument.family == two.instrument.family:
            pairs = _together(one, two)
            yield from state(score, "parallels", table["source"], _parallel(one, two, pairs, table["seconds"], int(table["doubled"])))


def _together(one: Part, two: Part) -> list[tuple[Note, Note]]:
    """Notes that both parts attack at the same tick, single notes only."""
    other = {group[0].start: group[0] for group in two.onsets if len(group) == 1}
    return [
        (group[0], other[group[0].start]) for group in one.onsets if len(group) == 1 and group[0].start in other
    ]  # fmt: skip


def _parallel(
    one: Part, two: Part, pairs: Sequence[tuple[Note, Note]], seconds: float, doubled: int
) -> Iterator[Fault]:
    """Runs of the same perfect interval class; a run of octaves as long as `doubled` is a doubling."""
    run: list[tuple[Note, Note]] = []
    for pair in [*pairs, None]:
        if pair is not None and run and _moves(run[-1], pair, seconds):
            run.append(pair)
            continue
        if len(run) > 1:
            kind = (run[0][0].pitch - run[0][1].pitch) % 12
            if kind or len(run) < doubled:
                yield _fault(one, two, run)
        run = [pair] if pair is not None and (pair[0].pitch - pair[1].pitch) % 12 in (0, 5, 7) and _perfect(pair) else []


def _perfect(pair: tuple[Note, Note]) -> bool:
    """An octave or unison, or a fifth (not a fourth)."""
    wide = abs(pair[0].pitch - pair[1].pitch) % 12
    return wide in (0, 7)


def _moves(before: tuple[Note, Note], now: tuple[Note, Note], seconds: float) -> bool:
    contiguous = all(second.start == first.end for first, second in zip(before, now, strict=True))
    upper, lower = now[0].pitch - before[0].pitch, now[1].pitch - before[1].pitch
    same = abs(now[0].pitch - now[1].pitch) % 12 == abs(before[0].pitch - before[1].pitch) % 12
    slow = now[0].until - now[0].at >= seconds
    return contiguous and _perfect(now) and same and upper * lower > 0 and slow


def _fault(one: Part, two: Part, run: Sequence[tuple[Note, Note]]) -> Fault:
    kind = "octaves" if (run[0][0].pitch - run[0][1].pitch) % 12 == 0 else "fifths"
    names = f"{run[0][0].name}/{run[0][1].name} to {run[1][0].name}/{run[1][1].name}"
    message = f"parallel {kind} with {two.name}: {names}"
    return Fault(one, run[1][0].start, "style", f"{len(run)} {kind}", "1", message, len(run))


RULES = (parallels,)
