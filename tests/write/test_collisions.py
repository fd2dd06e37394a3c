"""Texts on three reference pages: how many of them run into each other or into notes, by verovio's own bounding boxes."""

from __future__ import annotations

import io
from itertools import combinations, product
from pathlib import Path

import pytest
import verovio
from lxml import etree

from autoorch import delivery, pipeline
from autoorch.solver.solve import Limits
from autoorch.write.engrave import engrave_options
from autoorch.write.pagesize import page_size

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TEXTS = ("dynam", "dir", "tempo", "reh", "mNum", "hairpin")
NOTES = ("note", "rest", "accid", "beam")
MOST = 0.02
"""Share of the texts that may run into another text or a note by more than `DEEP` of its own area."""
DEEP = 0.2

Box = tuple[float, float, float, float]
"""left, top, right, bottom"""


def boxes(page: str, kinds: tuple[str, ...]) -> list[Box]:
    root = etree.fromstring(page.encode())
    found = []
    for group in root.iter("{http://www.w3.org/2000/svg}g"):
        names = (group.get("class") or "").split()
        if "bounding-box" in names and names[0] in kinds:
            for rect in group:
                x, y, width, height = (float(rect.get(key)) for key in ("x", "y", "width", "height"))
                found.append((x, y, x + width, y + height))
    return list(dict.fromkeys(found))  # a hairpin over a system break stands there twice


def shared(a: Box, b: Box) -> float:
    """The part of the smaller box that the other one covers."""
    width, height = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    smaller = min((box[2] - box[0]) * (box[3] - box[1]) for box in (a, b))
    return max(0.0, width) * max(0.0, height) / smaller if smaller and width > 0 and height > 0 else 0.0


def collisions(page: str) -> tuple[int, int]:
    """(texts that run into something, texts)"""
    texts, notes = boxes(page, TEXTS), boxes(page, NOTES)
    hit = {a for a, b in combinations(texts, 2) if shared(a, b) > DEEP}
    hit |= {a for a, b in product(texts, notes) if shared(a, b) > DEEP}
    return len(hit), len(texts)


def test_boxes_that_overlap_are_seen() -> None:
    assert shared((0, 0, 10, 10), (5, 0, 15, 10)) == 0.5
    assert shared((0, 0, 10, 10), (10, 0, 20, 10)) == 0
    assert shared((0, 0, 10, 10), (2, 2, 4, 4)) == 1


@pytest.mark.parametrize(
    ("example", "lineup"),
    [
        ("stone-chapel-chorale", "wind quintet"),
        ("lighthouse-waltz", "string quartet"),
        ("harbour-snow-cue", "romantic"),
    ],
)
def test_texts_keep_clear_of_each_other_and_of_notes(example: str, lineup: str) -> None:
    result = pipeline.draft(EXAMPLES / example / "sketch.musicxml", lineup, limits=Limits(seconds=2))
    file = io.BytesIO()
    delivery.outputs(result)["score.musicxml"](file)
    toolkit = verovio.toolkit()
    toolkit.setOptions(engrave_options(page_size(result.score)) | {"svgBoundingBoxes": True})
    toolkit.loadData(file.getvalue().decode())
    counts = [collisions(toolkit.renderToSVG(number)) for number in range(1, toolkit.getPageCount() + 1)]
    hit, texts = (sum(column) for column in zip(*counts, strict=True))
    assert texts > 30
    assert hit <= MOST * texts, counts
