"""Paper and staff size for a score: as large as the number of staves lets one system stand on the page.

Sizes are those of common practice: A4 up to ten staves, A3 above, A2 for the largest; staves between 3.7 and 7 millimetres high.
Staves get smaller, but no less than easy to read, where one system more then fills a page that would stay half empty.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import count

from autoorch.score.model import Score

PAPERS = ((210.0, 297.0), (297.0, 420.0), (420.0, 594.0), (594.0, 841.0))
"""ISO 216: A4, A3, A2, A1, in millimetres."""
SMALL = 10
"""Most staves on A4."""
MARGIN = 13.0
STAFF = (3.7, 7.0)
EASY = 5.5
"""Staves as high can be read from a stand, in millimetres."""
FULL = 0.75
"""A page is full enough where systems take such a share of its height."""
TENTHS = 40
"""MusicXML's measure: a staff is as high."""
PITCH = 2.6
"""From one staff to the next, in staff heights, marks and ledger lines included."""
TITLE = 2.0
"""Room above the first system, in staff heights."""
_STAFF, *_SIDES = (
    re.compile(rf"<{name}>([\d.]+)</{name}>".encode()) for name in ("millimeters", "page-width", "page-height")
)


@dataclass(frozen=True, slots=True)
class PageSize:
    """Millimetres; `staff` is the height of five lines, 40 tenths in MusicXML."""

    width: float
    height: float
    margin: float
    staff: float

    def tenths(self, millimetres: float) -> float:
        return millimetres * TENTHS / self.staff


def page_size(score: Score) -> PageSize:
    """The page for a full score or a part."""
    staves = sum(part.staves for part in score.parts)
    needed = PITCH * staves + TITLE
    papers = PAPERS if staves <= SMALL else PAPERS[1:]
    width, height = next((p for p in papers if p[1] - 2 * MARGIN >= STAFF[0] * needed), papers[-1])
    room = (height - 2 * MARGIN) / needed
    return PageSize(width, height, MARGIN, round(_staff(room), 2))


def _staff(room: float) -> float:
    """The height of staves on a page that one system would fill if they were as high as `room`."""
    for systems in count(1):
        staff = min(STAFF[1], room / systems)
        if systems > 1 and staff < EASY:
            break
        if systems * staff >= FULL * room:
            return max(STAFF[0], staff)
    return min(STAFF[1], room)


def written_size(musicxml: bytes) -> PageSize:
    """The page that a score of ours says itself."""
    found = [pattern.search(musicxml) for pattern in (_STAFF, *_SIDES)]
    staff, *sides = (float(each[1]) if each else 0.0 for each in found)
    width, height = (float(round(side * staff / TENTHS)) for side in sides)
    return PageSize(width, height, MARGIN, staff) if staff else PART


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
