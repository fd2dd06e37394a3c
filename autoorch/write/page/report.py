"""report.html: one draft to look at and to listen to."""

from __future__ import annotations

import base64
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from autoorch.problem.draft import FATES, Draft
from autoorch.sketch.bars import beat_at
from autoorch.sketch.model import Sketch
from autoorch.write.page.shell import page


@dataclass(frozen=True)
class Heard:
    """The mock-up as sound: an Opus file, and for each played bar (its index, the second at which it begins)."""

    opus: bytes
    bars: Sequence[tuple[int, float]]


def report_page(
    sketch: Sketch,
    draft: Draft,
    grid: Mapping[str, Any],
    texture: Mapping[str, Any],
    findings: Sequence[Mapping[str, str]],
    pages: Sequence[str],
    told: Mapping[str, Sequence[str]],
    heard: Heard | None = None,
) -> bytes:
    """The file.

    Args:
        grid: of `grid_data`.
        texture: of `texture` in write/page/texture.py.
        findings: of the check, each with severity, rule, bar, beat, part, message and source.
        pages: the score's pages as SVG.
        told: title -> lines of what else is to be said (losses, queries, notices).
        heard: the sound, if it was made.
    """
    data = {
        "data-grid": grid,
        "data-report": {
            "title": sketch.title or "Untitled",
            "composer": sketch.composer,
            "status": draft.status,
            "objective": draft.objective,
            "bound": draft.bound,
            "gap": f"{draft.gap:.1%}",
            "directed": draft.directed,
            "notes": len(sketch.notes),
            "costs": sorted(draft.costs.items(), key=lambda row: (-row[1], row[0])),
            "fates": _fates(sketch, draft),
            "texture": dict(texture),
            "findings": [dict(finding) for finding in findings],
            "told": [[title, list(lines)] for title, lines in told.items() if lines],
            "pages": len(pages),
            "heard": heard_data(heard),
        },
    }
    packed = {f"page-{number}": drawing.encode() for number, drawing in enumerate(pages, 1)}
    title = f"{sketch.title or 'Untitled'} – {grid['name']}"
    return page(title, "report.html", ["page.css"], ["parts.js", "grid.js", "report.js"], data, packed)


def _fates(sketch: Sketch, draft: Draft) -> dict[str, Any]:
    """Counts by fate and by bar, and each note that is not copied."""
    by_bar = [Counter[str]() for _ in sketch.bars]
    listed = []
    for note, fate in zip(sketch.notes, draft.fates, strict=True):
        bar = sketch.bar_at(note.onset)
        by_bar[bar.index][fate.fate] += 1
        if fate.fate != "copied":
            beat = f"{beat_at(sketch, note.onset):g}"
            listed.append([bar.index, beat, str(note.pitch), fate.fate, ", ".join(fate.players), fate.reason])
    totals = Counter(fate.fate for fate in draft.fates)
    return {
        "counts": [[kind, totals[kind]] for kind in FATES],
        "bars": [[found[kind] for kind in FATES] for found in by_bar],
        "listed": listed,
    }


def heard_data(heard: Heard | None) -> dict[str, Any] | None:
    if heard is None:
        return None
    source = f"data:audio/ogg;base64,{base64.b64encode(heard.opus).decode()}"
    return {"source": source, "bars": [[bar, round(second, 3)] for bar, second in heard.bars]}
