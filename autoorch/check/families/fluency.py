"""How fast and how far: runs, repeated notes, plucked notes and leaps, by instrument."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from autoorch.check.find import Fault, state
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding


def speed(score: Score, limits: Limits) -> Iterator[Finding]:
    """Runs and repeated notes faster than the instrument's extreme rate."""
    table = limits.of("speed")
    for part in score.parts:
        if part.kind in ("", "unpitched"):
            continue
        faults: dict[str, list[Fault]] = {"repeated notes": [], "speed": [], "pizz": []}
        for line in part.lines:
            for size in (table["run"], table["long_run"]):
                for run in _windows([chord[-1] for chord in line], size, table["contiguous"]):
                    if (judged := _judge(part, run, limits, score.timed)) is not None:
                        faults[judged[0]].append(judged[1])
        for rule, found in faults.items():
            yield from state(score, rule, table["source"], found)


def _windows(line: Sequence[Note], size: int, contiguous: float) -> Iterator[Sequence[Note]]:
    for start in range(len(line) - size + 1):
        run = line[start : start + size]
        if all(second.at - first.until < contiguous for first, second in pairwise(run)):
            yield run


def _judge(part: Part, run: Sequence[Note], limits: Limits, timed: bool) -> tuple[str, Fault] | None:
    table, instrument = limits.of("speed"), run[0].instrument
    seconds = run[-1].at - run[0].at
    if instrument is None or seconds <= 0:
        return None
    rate = (len(run) - 1) / seconds
    alike = [first.pitch == second.pitch for first, second in pairwise(run)]
    if all(note.pizz for note in run) and instrument.id in table["pizz"]:
        limit, absurd, rule, what = table["pizz"][instrument.id], table["pizz_absurd"], "pizz", "plucked"
    elif 2 * sum(alike) > len(alike):
        limit, absurd, rule, what = instrument.fluency.repeat_per_s[1], table["absurd"], "repeated notes", "repeated"
    elif any(alike) or len({note.pitch for note in run}) > 2:  # two alternating notes are a trill
        limit, absurd, rule, what = instrument.fluency.moving_per_s[1], table["absurd"], "speed", "moving"
    else:
        return None
    limit *= limits.speed
    if rate <= limit * table["risky"]:
        return None
    tremolo = instrument.kind == "bowed" and rule == "repeated notes"
    sure = timed and not tremolo and len(run) >= table["long_run"]
    severity = "unplayable" if sure and rate > limit * absurd else "risky"
    message = f"{rate:.1f} {what} notes a second; {limit:.1f} are the most to be expected"
    return rule, Fault(part, run[0].start, severity, f"{rate:.1f}/s", f"{limit:.1f}/s", message, rate)


def leaps(score: Score, limits: Limits) -> Iterator[Finding]:
    """Wide leaps between contiguous notes, narrower ones where there is hardly time."""
    table = limits.of("leap")
    for part in score.parts:
        if part.kind not in ("wind", "voice", "bowed") or part.instrument is None:
            continue
        family = part.instrument.family
        risky, absurd = table["risky"].get(family), table["absurd"].get(family)
        quick = table["quick_risky"].get(family)
        if risky is None or absurd is None or quick is None:
            continue
        faults = []
        for line in part.lines:
            for first, second in pairwise(line):
                if len(first) > 1 or len(second) > 1 or second[0].at - first[0].until > table["contiguous"]:
                    continue
                wide, time = abs(second[0].pitch - first[0].pitch), second[0].at - first[0].at
                limit = quick if time < table["quick"] else risky
                if wide >= min(limit, absurd):
                    severity = "unplayable" if wide >= absurd else "risky"
                    message = f"{first[0].name} to {second[0].name}, {wide} semitones in {time:.2f} s"
                    faults.append(Fault(part, second[0].start, severity, str(wide), f"{limit:g}", message, wide))
        yield from state(score, "leap", table["source"], faults)


RULES = (speed, leaps)
