"""How a rule states what it found: one finding for each bar and part, not one for each note."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from autoorch.check.limits import Limits
from autoorch.check.model import Part, Score
from autoorch.check.report import SEVERITIES, Finding
from autoorch.pitch import from_midi

Rule = Callable[[Score, Limits], Iterator[Finding]]


@dataclass(frozen=True, slots=True)
class Fault:
    """One offence of a rule at a tick; `size` says how bad it is among others of the same bar."""

    part: Part
    tick: int
    severity: str
    figure: str
    limit: str
    message: str
    size: float = 0.0


def state(score: Score, rule: str, source: str, faults: Iterable[Fault], join: int = 0) -> Iterator[Finding]:
    """One finding for the faults of one part and bar, saying the worst of them and how many there are.

    Args:
        join: faults of the same part in bars at most so far apart are one finding too (0: only within a bar).
    """
    groups: dict[int, list[list[Fault]]] = {}
    for fault in sorted(faults, key=lambda f: (f.part.index, f.tick)):
        runs = groups.setdefault(fault.part.index, [])
        if runs and score.bar(fault.tick) - score.bar(runs[-1][-1].tick) <= join:
            runs[-1].append(fault)
        else:
            runs.append([fault])
    for runs in groups.values():
        for run in runs:
            worst = min(run, key=lambda f: (SEVERITIES.index(f.severity), -f.size, f.tick))
            others = len(run) - 1
            last = score.bars[score.bar(run[-1].tick)].number
            bar, beat = score.place(worst.tick)
            more = (
                f" (and {others} more to bar {last})"
                if others and last != bar
                else f" (and {others} more)"
                if others
                else ""
            )
            yield Finding(
                worst.severity, rule, bar, beat, worst.part.name, worst.figure, worst.limit, source,
                worst.message + more, worst.tick, worst.part.index,
            )  # fmt: skip


def whole(
    score: Score, rule: str, severity: str, tick: int, figure: str, limit: str, source: str, message: str
) -> Finding:
    """A finding that concerns the score and no single part."""
    bar, beat = score.place(tick)
    return Finding(severity, rule, bar, beat, "", figure, limit, source, message, tick, -1)


def note_name(midi: int) -> str:
    """C4 for 60, for messages about limits."""
    return str(from_midi(midi))
