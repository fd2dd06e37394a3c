"""Pages drawn by verovio: MusicXML in, one SVG a page out, on paper that is large enough for every system.

A system that is higher than its page is cut off by verovio; so the drawn pages are measured, and set again smaller or on
larger paper until all of them stand inside.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from html import unescape
from itertools import chain, repeat

import verovio

from autoorch.errors import OutputError
from autoorch.score.notation import Notation
from autoorch.write.pagesize import PageSize, larger, written_size
from autoorch.write.staffkeys import changes, with_keys

TENTH = 10
"""Verovio's page is in tenths of a millimetre, its drawing in hundredths."""
UNITS = (4.5, 12.0)
"""Half the distance of two lines, in tenths of a millimetre: the bounds that verovio takes."""
SEED = 1
"""Verovio's ids are random without one."""
TRIES = 8
_SIGN = '<tspan font-family="Leipzig"'
_APART = '<tspan dx="100" font-family="Leipzig"'
"""A music sign inside a text, which verovio sets right against the word before it, and the same a millimetre away."""

_HEAD = 'class="pgHead"'
_WORDS = re.compile(r'text-anchor="(start|middle|end)"(.*?font-size=")([\d.]+)px">([^<]*)')
"""A text of a page's head and its size."""

_NUMBER = r"(-?\d+(?:\.\d+)?)"
_PLACES = (
    re.compile(rf"[ML]{_NUMBER},? {_NUMBER}"),
    re.compile(rf"translate\({_NUMBER}, {_NUMBER}\) scale"),
    re.compile(rf'<text x="{_NUMBER}" y="{_NUMBER}"'),
)


@dataclass(frozen=True)
class Engraving:
    """`pages`: one SVG each; `size`: their paper."""

    pages: tuple[str, ...]
    size: PageSize


def engrave(musicxml: bytes, house: Notation, size: PageSize | None = None) -> Engraving:
    """Draw a score or a part.

    Args:
        musicxml: the whole file.
        house: how large paper, staves and first words are.
        size: paper and staff size to begin with, where not those that the file says.

    Raises:
        OutputError: where verovio takes the file for no score.
    """
    size = size or written_size(musicxml, house)
    toolkit = _toolkit()
    toolkit.resetXmlIdSeed(SEED)
    pages: list[str] = []
    for attempt in range(TRIES):
        toolkit.setOptions(engrave_options(size))
        if attempt:
            toolkit.redoLayout()
        else:
            _load(toolkit, musicxml)
        pages = [
            _with_sizes(toolkit.renderToSVG(number), (size.width - 2 * size.margin) * TENTH * TENTH, house).replace(
                _SIGN, _APART
            )
            for number in range(1, toolkit.getPageCount() + 1)
        ]
        room = (size.height - 2 * size.margin) * TENTH * TENTH
        over = max((lowest(page) / room for page in pages), default=0.0)
        if over <= 1:
            break
        size = larger(size, over, house)
    return Engraving(tuple(pages), size)


def _load(toolkit: verovio.toolkit, musicxml: bytes) -> None:
    if not toolkit.loadData(musicxml.decode()):
        raise OutputError("verovio can't draw this score; leave out report.html and PDF (--no-page)")
    if keys := changes(musicxml):
        toolkit.loadData(with_keys(toolkit.getMEI(), keys))


@lru_cache(maxsize=1)
def _toolkit() -> verovio.toolkit:
    verovio.enableLog(verovio.LOG_OFF)
    return verovio.toolkit()


def engrave_options(size: PageSize) -> dict[str, object]:
    """Verovio's options for a page."""
    margin = round(size.margin * TENTH)
    return {
        "breaks": "auto",
        "condense": "none",
        "justifyVertically": True,
        "multiRestStyle": "block",
        "footer": "none",
        "pageHeight": round(size.height * TENTH),
        "pageWidth": round(size.width * TENTH),
        **{f"pageMargin{side}": margin for side in ("Top", "Bottom", "Left", "Right")},
        "svgFormatRaw": True,
        "svgViewBox": True,
        "unit": min(UNITS[1], max(UNITS[0], round(size.staff * TENTH / 8, 2))),
        "xmlIdSeed": SEED,
    }


def _with_sizes(page: str, room: float, house: Notation) -> str:
    """The page with the words of its head in the house's sizes against each other, smaller where there is no room; verovio sets
    all alike. In the middle stands the title, on the left a heading, then the line-up.
    """
    points = house.first_page
    music, mark, head = page.partition(_HEAD)
    rows = chain(("words",), repeat("lineup"))

    def sized(words: re.Match[str]) -> str:
        row = next(rows) if words[1] == "start" else "title" if words[1] == "middle" else "words"
        wanted = float(words[3]) * points[row] / points["words"]
        fits = room / (points["letter"] * max(1, len(unescape(words[4]))))
        return f'text-anchor="{words[1]}"{words[2]}{min(wanted, fits):.0f}px">{words[4]}'

    return music + mark + _WORDS.sub(sized, head)


def lowest(page: str) -> float:
    """The lowest drawn place of a page below its upper margin, in hundredths of a millimetre."""
    inside = page[page.find('class="page-margin"') :]
    return max((float(y) for pattern in _PLACES for _, y in pattern.findall(inside)), default=0.0)
