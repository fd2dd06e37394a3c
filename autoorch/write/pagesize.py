"""Paper and staff size for a score: as large as the number of staves lets one system stand on the page.

Sizes are those of common practice: A4 up to ten staves, A3 above, A2 for the largest; staves between 3.7 and 7 millimetres high.
"""

from __future__ import annotations

from dataclasses import dataclass

from autoorch.score.model import Score

PAPERS = ((210.0, 297.0), (297.0, 420.0), (420.0, 594.0), (594.0, 841.0))
"""ISO 216: A4, A3, A2, A1, in millimetres."""
SMALL = 10
"""Most staves on A4."""
MARGIN = 13.0
STAFF = (3.7, 7.0)
PITCH = 2.6
"""From one staff to the next, in staff heights, marks and ledger lines included."""
TITLE = 2.0
"""Room above the first system, in staff heights."""


@dataclass(frozen=True, slots=True)
class PageSize:
    """Millimetres; `staff` is the height of five lines, 40 tenths in MusicXML."""

    width: float
    height: float
    margin: float
    staff: float

    def tenths(self, millimetres: float) -> float:
        return millimetres * 40 / self.staff


def page_size(score: Score) -> PageSize:
    """The page for a full score or a part."""
    staves = sum(part.staves for part in score.parts)
    needed = PITCH * staves + TITLE
    papers = PAPERS if staves <= SMALL else PAPERS[1:]
    width, height = next((p for p in papers if p[1] - 2 * MARGIN >= STAFF[0] * needed), papers[-1])
    staff = (height - 2 * MARGIN) / needed
    return PageSize(width, height, MARGIN, round(min(STAFF[1], max(STAFF[0], staff)), 2))


def larger(size: PageSize, by: float) -> PageSize:
    """The page for a system that turned out `by` times as high as there is room for: smaller staves, then larger paper."""
    staff = size.staff / by
    if staff >= STAFF[0]:
        return PageSize(size.width, size.height, size.margin, round(staff - 0.005, 2))
    after = [paper for paper in PAPERS if paper[1] > size.height]
    width, height = after[0] if after else (size.width * by, size.height * by)
    return PageSize(width, height, size.margin, STAFF[0])


PART = PageSize(*PAPERS[0], MARGIN, STAFF[1])
"""A player's part."""
