"""Paper and staff size for a score: as large as the number of staves lets one system stand on the page.

Sizes are those of common practice: A4 up to ten staves, A3 above; staves between 3.7 and 7 millimetres high.
"""

from __future__ import annotations

from dataclasses import dataclass

from autoorch.score.model import Score

A4 = (210.0, 297.0)
A3 = (297.0, 420.0)
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
    """The page for a full score."""
    staves = sum(part.staves for part in score.parts)
    width, height = A4 if staves <= SMALL else A3
    staff = (height - 2 * MARGIN) / (PITCH * staves + TITLE)
    return PageSize(width, height, MARGIN, round(min(STAFF[1], max(STAFF[0], staff)), 2))
