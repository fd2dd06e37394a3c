"""The plan of the cue as a small chart in plain text: one line a phrase, the weight as a bar."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.layers.model import PhrasePlan
from autoorch.sketch.model import Sketch

WIDTH = 20
"""Characters of a full weight."""


def chart(sketch: Sketch, plan: Sequence[PhrasePlan]) -> str:
    """Bars, material, dynamic, weight, who leads (and with whom), what lies under it, who has the bass, what it is."""
    rows = [["bars", "", "", "weight", "tune", "over", "bass", ""]]
    section = None
    for phrase in plan:
        first, last = sketch.bar_at(phrase.start).number, sketch.bar_at(phrase.end - 1).number
        filled = round(WIDTH * phrase.weight)
        tune = " + ".join((phrase.lead, *phrase.joined)) if phrase.lead else ""
        octaves = f", {phrase.octaves} octaves" if phrase.octaves > 1 else ""
        notes = [phrase.scheme] if phrase.scheme else []
        notes += ["the peak"] if phrase.peak else []
        notes += [f"answers the {plan[phrase.answers].lead}"] if phrase.answers is not None else []
        for turn in phrase.turns:
            said = f"{turn.dynamic} {turn.weight:.2f} from bar {sketch.bar_at(turn.start).number}"
            notes.append(f"{said}, {turn.scheme}" if turn.scheme else said)
        mark = "-" if phrase.section != section else " "
        section = phrase.section
        rows.append(
            [
                f"{mark} {first}-{last}",
                phrase.label,
                phrase.dynamic,
                "#" * filled + "." * (WIDTH - filled) + f" {phrase.weight:.2f}",
                tune + octaves,
                ", ".join(phrase.ground),
                ", ".join(name.replace("_", " ") for name in phrase.bass),
                "; ".join(notes),
            ]
        )
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    )
