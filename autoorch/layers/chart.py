"""The plan of the cue as a small chart in plain text: one line a phrase, the weight as a bar."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.layers.model import UNISON, PhrasePlan
from autoorch.sketch.bars import mainly
from autoorch.sketch.model import Sketch

WIDTH = 20
"""Characters of a full weight."""


def chart(sketch: Sketch, plan: Sequence[PhrasePlan]) -> str:
    """Bars, material, dynamic, weight, who leads (and with whom), what lies under it, who has the bass, what it is."""
    rows = [["bars", "", "", "weight", "tune", "over", "bass", ""]]
    section = None
    first_of = _first_of(plan)
    for number, phrase in enumerate(plan):
        own = mainly(sketch, phrase.start, phrase.end)
        first, last = (sketch.bars[index].number for index in (own[0], own[-1]))
        upbeat = "^" if sketch.bars[own[0]].onset > phrase.start else ""
        filled = round(WIDTH * phrase.weight)
        tune = " + ".join((phrase.lead, *phrase.joined)) if phrase.lead else ""
        tune = f"{phrase.lead} and all" if phrase.scheme == UNISON else tune
        octaves = f", {phrase.octaves} octaves" if phrase.octaves > 1 else ""
        notes = [phrase.scheme] if phrase.scheme else []
        notes += ["the peak"] if phrase.peak else []
        if phrase.runner_up is not None:
            other = phrase.runner_up
            notes.append(f"or the {other.lead}, {other.dearer:g} dearer ({other.reason})")
        notes += [told] if phrase.restates is not None and (told := contrast(phrase, plan[phrase.restates])) else []
        notes += [f"answers the {plan[phrase.answers].lead}"] if phrase.answers is not None else []
        notes += [f"{group} saved until here" for group, first in first_of.items() if first == number > 0]
        for turn in phrase.turns:
            if turn.lead:
                notes.append(f"{' + '.join((turn.lead, *turn.joined))} from bar {sketch.bar_at(turn.start).number}")
                continue
            if turn.tune:
                joins = len(turn.joined) > len(phrase.joined)
                more, fewer = (turn.joined, phrase.joined) if joins else (phrase.joined, turn.joined)
                name = next(name for name in more if name not in fewer)
                who = name if joins else f"without {name}"
                notes.append(f"{who} from bar {sketch.bar_at(turn.start).number}")
                continue
            said = f"{turn.dynamic} {turn.weight:.2f} from bar {sketch.bar_at(turn.start).number}"
            notes.append(f"{said}, {turn.scheme}" if turn.scheme else said)
        mark = "-" if phrase.section != section else " "
        section = phrase.section
        rows.append(
            [
                f"{mark} {first}{upbeat}-{last}",
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


def contrast(phrase: PhrasePlan, before: PhrasePlan) -> str:
    """How a phrase differs from the one whose material it brings back: "again, with flutes for violins, over strings, fuller"; ""
    where nothing is planned for either or both are planned alike."""
    if not (phrase.lead and before.lead):
        return ""
    ways = [f"with {phrase.lead} for {before.lead}"] if phrase.lead != before.lead else []
    new = [name for name in phrase.joined if name not in (before.lead, *before.joined)]
    ways += [f"{' and '.join(new)} new to it"] if new and phrase.scheme != UNISON else []
    ways += [f"over {', '.join(phrase.ground)}"] if set(phrase.ground) != set(before.ground) else []
    if phrase.octaves != before.octaves and phrase.detailed:
        ways.append(f"in {phrase.octaves} octaves" if phrase.octaves > 1 else "in one octave")
    if round(phrase.weight - before.weight, 1):
        ways.append("fuller" if phrase.weight > before.weight else "thinner")
    return f"again, {', '.join(ways)}" if ways else ""


def _first_of(plan: Sequence[PhrasePlan]) -> dict[str, int]:
    """Group -> index of the first phrase in which it does not rest, wherever it is one to rest."""
    found: dict[str, int] = {}
    for group in dict.fromkeys(group for phrase in plan for group in phrase.resting):
        for number, phrase in enumerate(plan):
            if group not in phrase.resting or any(group in turn.ground for turn in phrase.turns):
                found.setdefault(group, number)
    return found
