"""What a command says when it is done, as text: the result of a draft on one screen, reasons, a table of drafts."""

from __future__ import annotations

from pathlib import Path

from autoorch.pipeline import Result

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
    asked = [f"{v.state}: {v.direction}" + (f" ({v.detail})" if v.detail else "") for v in draft.verdicts]
    for title, said in (
        ("not kept", sketch.lost),
        ("note", sketch.notices + reading.notices + result.material.notices + result.score.notices + draft.notices),
        ("direction", tuple(text for text in asked if not text.startswith("kept"))),
        ("query", reading.queries),
        ("reduced", draft.losses),
    ):
        lines += [f"  {title}: {line}" for line in said[:MOST]]
        if len(said) > MOST:
            lines.append(f"  {title}: {len(said) - MOST} more in queries.txt")
    lines.append(f"  open {folder / 'score.musicxml'} in a notation program, {folder / 'mockup.mid'} in a sequencer")
    return "\n".join(lines)
