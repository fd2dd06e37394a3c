"""The words on a first page, placed: the title, under it whose part or which score it is beside the composer, then who plays."""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree

from autoorch.score.model import Score
from autoorch.write.elements import Element, text
from autoorch.write.front import heading, lineup
from autoorch.write.pagesize import PageSize, line_height


def credits(score: Score, size: PageSize) -> Iterator[Element]:
    """Credit elements of the first page, placed in tenths from its lower left corner.

    Verovio keeps their order and `valign` (the title on top, the others in its middle rows) and no sizes.
    """
    rows = (
        ("title", (("title", "center", score.title),)),
        ("words", (("part name", "left", heading(score)), ("composer", "right", score.composer))),
        *(("lineup", (("instrumentation", "left", line),)) for line in lineup(score)),
    )
    sides = {"left": size.margin, "center": size.width / 2, "right": size.width - size.margin}
    place = size.height - size.margin
    for row, credit in rows:
        for kind, side, words in credit:
            if words:
                own = etree.Element("credit", page="1")
                text(own, "credit-type", kind)
                at = {"default-x": f"{size.tenths(sides[side]):.0f}", "default-y": f"{size.tenths(place):.0f}"}
                how = {"font-size": str(score.house.first_page[row]), "valign": "top" if row == "title" else "middle"}
                text(own, "credit-words", words, justify=side, halign=side, **how, **at)
                yield own
        place -= line_height(score.house, row)
