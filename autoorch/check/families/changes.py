"""Changes that want time: mutes, pizz. and arco, another instrument of a doubling player; and marks never cancelled."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

from autoorch.check.find import Fault, state
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding
from autoorch.tables import DYNAMICS


def changes(score: Score, limits: Limits) -> Iterator[Finding]:
    """Seconds of rest between two notes that are played differently."""
    table = limits.of("technique")
    for part in score.parts:
        found: dict[str, list[Fault]] = {"mute": [], "pizz": [], "instrument change": []}
        if part.section or part.players == 1:
            for before, after in pairwise(part.onsets):
                gap = max(0.0, after[0].at - max(note.until for note in before))
                attacks = after[0].at - before[0].at
                for rule, what, risky, absurd in _asked(part, before[-1], after[0], table):
                    # a plucked note, or the end of a bowed one, can be let go
                    time = attacks if rule == "pizz" else gap
                    if time < risky:
                        severity = "unplayable" if time < absurd else "risky"
                        message, size = f"{time:.1f} s {what}", risky - time
                        fault = Fault(part, after[0].start, severity, f"{time:.1f} s", f"{risky:g} s", message, size)
                        found[rule].append(fault)
        found["mute"] += _uncancelled(part)
        for rule, faults in found.items():
            yield from state(score, rule, table["source"], faults)


def _asked(part: Part, before: Note, after: Note, limits: Mapping[str, Any]) -> Iterator[tuple[str, str, float, float]]:
    """(rule, what takes time, seconds below which it is risky, and can't be done) of all that is different."""
    divided = part.section and (before.divided or after.divided)
    if after.muted and not before.muted and not divided:
        yield "mute", "to put the mute on", limits["mute_on"], limits["mute_absurd"]
    if before.muted and not after.muted and not divided:
        yield "mute", "to take the mute off", limits["mute_off"], limits["mute_absurd"]
    if before.pizz != after.pizz and not divided:
        word = "pizzicato" if after.pizz else "the bow"
        yield "pizz", f"to change to {word}", limits["pizz_change"], limits["pizz_absurd"]
    one, two = before.instrument, after.instrument
    if one is not None and two is not None and one.id != two.id and one.kind != "unpitched":
        yield (
            "instrument change",
            f"to change from {one.player} to {two.player}",
            limits["change"],
            limits["change_absurd"],
        )


def _uncancelled(part: Part) -> Iterator[Fault]:
    """Muted to the end of a very loud passage: the mute was probably never taken off."""
    for note in part.notes:
        if note.muted and note.dynamic is not None and note.dynamic >= DYNAMICS.index("ff"):
            message = f"still muted at {DYNAMICS[note.dynamic]}: is the mute never taken off?"
            yield Fault(part, note.start, "style", DYNAMICS[note.dynamic], "f", message)
            return


RULES = (changes,)
