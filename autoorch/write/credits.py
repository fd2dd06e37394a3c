"""The words on a first page: title, composer, whose part it is."""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree

from autoorch.score.model import Score
from autoorch.write.elements import Element, text
from autoorch.write.pagesize import PageSize

TITLE, SMALL = "20", "11"
"""Points."""


def credits(score: Score, size: PageSize) -> Iterator[Element]:
    """Credit elements of the first page, placed in tenths from its lower left corner."""
    left, right = size.tenths(size.margin), size.tenths(size.width - size.margin)
    top = size.tenths(size.height - size.margin)
    rows = (
        ("title", score.title, (left + right) / 2, "center", TITLE),
        ("part name", score.heading, left, "left", SMALL),
        ("composer", score.composer, right, "right", SMALL),
    )
    for kind, words, across, justify, points in rows:
        if words:
            own = etree.Element("credit", page="1")
            text(own, "credit-type", kind)
            place = {"default-x": f"{across:.0f}", "default-y": f"{top:.0f}", "justify": justify, "halign": justify}
            text(own, "credit-words", words, valign="top", **{"font-size": points}, **place)
            yield own
