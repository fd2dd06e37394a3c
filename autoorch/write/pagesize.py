"""Paper and staff size for a score: as large as the number of staves lets one system stand on the page.

Staves get smaller, but no less than easy to read, where one system more then fills a page that would stay half empty. The
figures stand in constraints/notation.toml.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import count

from autoorch.score.model import Score
from autoorch.score.notation import Notation
from autoorch.write.front import lineup

TENTHS = 40
"""MusicXML's measure: a staff is as high."""
POINT = 25.4 / 72
"""Millimetres."""
_STAFF, *_SIDES = (
    re.compile(rf"<{name}>([\d.]+)</{name}>".encode())
    for name in ("millimeters", "page-width", "page-height", "left-margin")
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


def part_size(house: Notation) -> PageSize:
    """A player's part."""
    paper = house.paper
    width, height = paper["sizes"][0]
    return PageSize(width, height, paper["margin"], paper["staff"])


def page_size(score: Score) -> PageSize:
    """The page for a full score or a part."""
    paper = score.house.paper
    staves = sum(part.staves for part in score.parts)
    needed = paper["pitch"] * staves + paper["title"]
    taken = 2 * paper["margin"] + len(lineup(score)) * line_height(score.house, "lineup")
    sizes = paper["sizes"] if staves <= paper["small"] else paper["sizes"][1:]
    width, height = next((p for p in sizes if p[1] - taken >= paper["least_staff"] * needed), sizes[-1])
    return PageSize(width, height, paper["margin"], round(_staff((height - taken) / needed, score.house), 2))


def line_height(house: Notation, row: str) -> float:
    """From a line of a first page's words to the next, in millimetres; `row` is "title", "words" or "lineup"."""
    return float(house.first_page[row] * house.first_page["line"] * POINT)


def _staff(room: float, house: Notation) -> float:
    """The height of staves on a page that one system would fill if they were as high as `room`."""
    paper = house.paper
    for systems in count(1):
        staff = min(paper["staff"], room / systems)
        if systems > 1 and staff < paper["easy_staff"]:
            break
        if systems * staff >= paper["full"] * room:
            return float(max(paper["least_staff"], staff))
    return float(min(paper["staff"], room))


def written_size(musicxml: bytes, house: Notation) -> PageSize:
    """The page that a score of ours says itself; a part's where it says none."""
    found = [pattern.search(musicxml) for pattern in (_STAFF, *_SIDES)]
    staff, *sides = (float(each[1]) if each else 0.0 for each in found)
    if not staff:
        return part_size(house)
    width, height, margin = (float(round(side * staff / TENTHS)) for side in sides)
    return PageSize(width, height, margin, staff)


def larger(size: PageSize, by: float, house: Notation) -> PageSize:
    """The page for a system that turned out `by` times as high as there is room for: smaller staves, then larger paper."""
    paper = house.paper
    staff = size.staff / by
    if staff >= paper["least_staff"]:
        return PageSize(size.width, size.height, size.margin, round(staff - 0.005, 2))
    after = [sides for sides in paper["sizes"] if sides[1] > size.height]
    width, height = after[0] if after else (size.width * by, size.height * by)
    return PageSize(width, height, size.margin, paper["least_staff"])
