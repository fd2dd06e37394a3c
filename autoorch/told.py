"""What a command says when it is done, as text: the result of a draft on one screen, reasons, a table of drafts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from autoorch.pipeline import Result
from autoorch.problem.data import ProblemData
from autoorch.problem.draft import Choice, Draft
from autoorch.sketch.model import Sketch
from autoorch.solver.why import Reason, Share

STATES = ("kept", "bent", "refused")
"""What can become of a direction."""
MOST = 4
"""Lines told of each kind; the rest stands in queries.txt."""


def summary(result: Result, folder: Path, label: str = "") -> str:
    """What happened, on one screen."""
    draft, sketch, reading = result.draft, result.sketch, result.reading
    fates: dict[str, int] = {}
    for fate in draft.fates:
        fates[fate.fate] = fates.get(fate.fate, 0) + 1
    told = ", ".join(f"{count} {name}" for name, count in fates.items())
    players = len(result.lineup.players)
    lines = [
        f"{folder}: {len(sketch.bars)} bars for {result.lineup.name}, {players} players and sections",
        f"  {draft.status}, cost {draft.objective}, gap {draft.gap:.1%}; {len(sketch.notes)} sketch notes: {told}",
    ]
    if label:
        lines.append(f"  apart by: {label}")
    if draft.verdicts:
        states = [verdict.state for verdict in draft.verdicts]
        counts = ", ".join(f"{states.count(state)} {state}" for state in STATES if state in states)
        lines.append(f"  directions: {counts}")
    for title, said in (
        ("not kept", sketch.lost),
        ("note", sketch.notices + reading.notices + result.material.notices + result.score.notices + draft.notices),
        ("direction", tuple(str(verdict) for verdict in draft.verdicts if verdict.state != STATES[0])),
        ("query", reading.queries),
        ("reduced", draft.losses),
    ):
        lines += [f"  {title}: {line}" for line in said[:MOST]]
        if len(said) > MOST:
            lines.append(f"  {title}: {len(said) - MOST} more in queries.txt")
    lines.append(f"  open {folder / 'score.musicxml'} in a notation program, {folder / 'mockup.mid'} in a sequencer")
    return "\n".join(lines)


def place(sketch: Sketch, choice: Choice) -> str:
    """ "bars 9-16" of a choice."""
    first, last = sketch.bar_at(choice.start).number, sketch.bar_at(choice.end - 1).number
    return f"bar {first}" if first == last else f"bars {first}-{last}"


def who(choice: Choice) -> str:
    """ "Oboe 1 an octave up" of a choice."""
    octave = f"{abs(choice.octave)} oct. {'up' if choice.octave > 0 else 'down'}" if choice.octave else ""
    half = "half of them" if choice.share < 12 else ""
    return ", ".join(word for word in (choice.player, octave, half, choice.technique.replace("_", " ")) if word)


def why(sketch: Sketch, reason: Reason) -> str:
    """A reason in a few lines: what it is, what it costs and spares, what the next best would cost."""
    choice = reason.choice
    added = f", added by {reason.layer}: {reason.why_added}" if reason.layer != "assigned" else ""
    lines = [f"{who(choice)}: {reason.role} ({choice.strand}), {place(sketch, choice)}{added}"]
    spares, costs = [s for s in reason.shares if s.cost < 0], [s for s in reason.shares if s.cost > 0]
    if reason.needed:
        lines.append(f"  must be there: {', '.join(name.replace('/', ', ') for name in dict.fromkeys(reason.needed))}")
    else:
        lines.append(f"  without it the draft costs {reason.without:+d}")
    if spares:
        lines.append(f"  spares {_shares(spares, -1)}")
    if costs:
        lines.append(f"  costs {_shares(costs)}")
    if reason.other is None:
        lines.append("  nobody else can take its place by a single change")
    else:
        because = f": {_shares(reason.other.shares)}" if reason.other.shares else ""
        lines.append(f"  next best {who(reason.other.choice)}, {reason.other.cost:+d}{because}")
    return "\n".join(lines)


def _shares(shares: Iterable[Share], sign: int = 1) -> str:
    told = [f"{sign * share.cost} {share.rule} ({share.what})" for share in shares]
    return "; ".join(told[:MOST]) + (f"; {len(told) - MOST} more" if len(told) > MOST else "")


def by_rule(before: Mapping[str, int], after: Mapping[str, int]) -> dict[str, int]:
    """Rule -> cost after less cost before, rules that stay the same left out; largest change first."""
    names = {name: after.get(name, 0) - before.get(name, 0) for name in (*before, *after)}
    return dict(sorted(((n, c) for n, c in names.items() if c), key=lambda pair: (-abs(pair[1]), pair[0])))


def instead(data: ProblemData, sketch: Sketch, before: Draft, after: Draft, title: str) -> str:
    """What a forced choice changes: the cost by rule, and whoever else changes with it."""
    changes = by_rule(before.costs, after.costs)
    told = ", ".join(f"{name} {cost:+d}" for name, cost in changes.items()) or "no rule costs more or less"
    lines = [f"{title}: cost {before.objective} becomes {after.objective} ({after.objective - before.objective:+d})"]
    lines.append(f"  by rule: {told}")
    gone, new = set(before.choices) - set(after.choices), set(after.choices) - set(before.choices)
    for word, changed in (("no longer", gone), ("now", new)):
        rows = [
            f"  {word}: {who(c)}: {data.material.strand[c.strand].role}, {place(sketch, c)}"
            for c in (before.choices if word == "no longer" else after.choices)
            if c in changed
        ]
        lines += rows[:MOST] + ([f"  {word}: {len(rows) - MOST} more"] if len(rows) > MOST else [])
    return "\n".join(lines)
