"""compare.html: drafts of one cue side by side, to look at, to listen to, and to put a new one together from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from autoorch.problem.draft import Draft
from autoorch.solver.vary import own_cost
from autoorch.write.page.report import Heard, heard_data
from autoorch.write.page.shell import page


@dataclass(frozen=True)
class Shown:
    """One draft on the page.

    Attributes:
        name: what it is called; folder: where it stands, as it was typed.
        label: what sets it apart; differs: from the first, in words.
        grid: of `grid_data`; findings: of the check; pages: the score as SVG.
        lost: what it has not of the first one.
    """

    name: str
    folder: str
    label: str
    differs: str
    draft: Draft
    grid: Mapping[str, Any]
    findings: Sequence[Mapping[str, str]] = ()
    pages: Sequence[str] = ()
    heard: Heard | None = None
    lost: Sequence[str] = ()


def compare_page(title: str, drafts: Sequence[Shown]) -> bytes:
    """The file."""
    data = {"data-compare": {"title": title, "drafts": [_draft(one) for one in drafts]}}
    packed = {
        f"page-{number}-{count}": drawing.encode()
        for number, one in enumerate(drafts)
        for count, drawing in enumerate(one.pages, 1)
    }
    scripts = ["parts.js", "grid.js", "compare.js"]
    return page(f"{title} – drafts", "compare.html", ["page.css", "compare.css"], scripts, data, packed)


def _draft(shown: Shown) -> dict[str, Any]:
    draft = shown.draft
    return {
        "name": shown.name,
        "folder": shown.folder,
        "label": shown.label,
        "differs": shown.differs,
        "grid": dict(shown.grid),
        "cost": own_cost(draft),
        "status": draft.status,
        "gap": f"{draft.gap:.1%}",
        "costs": sorted(draft.costs.items(), key=lambda row: (-row[1], row[0])),
        "findings": [dict(finding) for finding in shown.findings],
        "told": [*map(str, draft.verdicts), *(f"not as in the first: {line}" for line in shown.lost), *draft.losses],
        "pages": len(shown.pages),
        "heard": heard_data(shown.heard),
    }
