"""Drawn pages: nothing outside the paper, all staves in every system, sizes that give way, the words on top."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import lru_cache

import pytest
from lxml import etree

from autoorch.errors import OutputError
from autoorch.lineup import parse_lineup
from autoorch.score.model import Score
from autoorch.score.notation import notation
from autoorch.tables import load_tables
from autoorch.write.engrave import Engraving, engrave, lowest
from autoorch.write.musicxml import write_musicxml
from autoorch.write.pagesize import PageSize, larger, page_size, part_size, written_size
from tests.support.hand import make_score, make_sketch, whole

SVG = "{http://www.w3.org/2000/svg}"
HOUSE = notation()
PAPER = HOUSE.paper
MARGIN, PAPERS = PAPER["margin"], PAPER["sizes"]
PART = part_size(HOUSE)
LINEUPS = ("string quartet", "wind quintet", "chamber", "romantic", "studio", "concert band")


@lru_cache
def score(lineup: str, bars: int = 24) -> Score:
    """Everybody plays; high and low notes with ledger lines make the system as high as it gets."""
    sketch = make_sketch([" ".join(["C5:1/2 D5:1/2 E5:1 F5:2"] * bars), " ".join(["C3:4"] * bars)])
    made = parse_lineup(lineup, load_tables())
    return make_score(sketch, made, [whole(sketch, p.name, 1 + k % 2) for k, p in enumerate(made.players)])


@lru_cache
def engraved(lineup: str, bars: int = 24) -> tuple[Engraving, Score]:
    made = score(lineup, bars)
    return engrave(xml(made), HOUSE, page_size(made)), made


def xml(made: Score) -> bytes:
    file = io.BytesIO()
    write_musicxml(made, file)
    return file.getvalue()


def places(page: str) -> tuple[list[float], list[float], float, float]:
    """x and y of everything drawn, in millimetres on the page, and the page's own size; read as XML, not as text."""
    root = etree.fromstring(page.encode())
    width, height = (float(v) / 10 for v in root.get("viewBox").split()[2:])
    xs: list[float] = []
    ys: list[float] = []

    def walk(element: etree._Element, dx: float, dy: float) -> None:
        move = re.match(r"translate\((-?[\d.]+), (-?[\d.]+)\)", element.get("transform") or "")
        if move:
            dx, dy = dx + float(move[1]), dy + float(move[2])
        name = etree.QName(element).localname
        if name == "use":
            xs.append(dx)
            ys.append(dy)
        elif element.get("x") and element.get("y"):
            xs.append(dx + float(element.get("x")))
            ys.append(dy + float(element.get("y")))
            ys.append(ys[-1] + float(re.sub(r"[a-z]+$", "", element.get("height") or "0")))
        elif name in ("path", "polygon", "polyline"):
            numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", element.get("d") or element.get("points"))]
            xs.extend(dx + x for x in numbers[::2])
            ys.extend(dy + y for y in numbers[1::2])
        for child in element:
            if isinstance(child.tag, str) and etree.QName(child).localname not in ("defs", "style", "desc", "title"):
                walk(child, dx, dy)

    (inner,) = root.findall(f"{SVG}svg")
    walk(inner, 0, 0)
    return [x / 100 for x in xs], [y / 100 for y in ys], width, height


@pytest.mark.parametrize("lineup", LINEUPS)
def test_nothing_is_drawn_outside_the_page(lineup: str) -> None:
    made, _ = engraved(lineup)
    assert made.pages
    for page in made.pages:
        xs, ys, width, height = places(page)
        assert len(ys) > 100
        assert min(xs) >= MARGIN / 2 and max(xs) <= width - MARGIN / 2
        assert min(ys) >= MARGIN / 2 and max(ys) <= height - MARGIN / 2
        assert lowest(page) / 100 + MARGIN >= max(ys) - 2, "what the module measures is what is drawn"


@pytest.mark.parametrize("lineup", LINEUPS)
def test_every_system_has_all_its_staves(lineup: str) -> None:
    made, of = engraved(lineup)
    staves = sum(part.staves for part in of.parts)
    for page in made.pages:
        root = etree.fromstring(page.encode())
        measures = [g for g in root.iter(f"{SVG}g") if "measure" in (g.get("class") or "").split()]
        assert measures
        assert {sum("staff" in (g.get("class") or "").split() for g in m.iter(f"{SVG}g")) for m in measures} == {staves}


def test_names_are_full_on_the_first_page_and_short_later() -> None:
    made, _ = engraved("romantic", 48)
    assert len(made.pages) > 1

    def labels(page: str, kind: str) -> set[str]:
        root = etree.fromstring(page.encode())
        found = [g for g in root.iter(f"{SVG}g") if kind in (g.get("class") or "").split()]
        return {" ".join("".join(g.itertext()).split()) for g in found}

    assert {"Oboe 1", "Horn in F 3", "Viola", "Double Bass"} <= labels(made.pages[0], "label")
    assert {"Ob. 1", "Hn. 3", "Vla."} <= labels(made.pages[1], "labelAbbr")
    assert not labels(made.pages[1], "label") & {"Oboe 1", "Horn in F 3"}


def test_a_system_that_is_too_high_gets_smaller_staves_or_larger_paper() -> None:
    made = score("romantic", 8)
    too_small = PageSize(*PAPERS[0], MARGIN, 7.0)
    grown = engrave(xml(made), HOUSE, too_small)
    assert grown.size.height > PAPERS[0][1]
    for page in grown.pages:
        assert lowest(page) / 100 <= grown.size.height - 2 * MARGIN


def test_sizes_grow_step_by_step() -> None:
    first = PageSize(210.0, 297.0, 13.0, 6.0)
    assert 4.99 <= larger(first, 1.2, HOUSE).staff <= 5.0
    assert replace(larger(first, 1.2, HOUSE), staff=first.staff) == first
    assert larger(first, 2, HOUSE).height == 420
    assert larger(PageSize(594.0, 841.0, 13.0, 3.7), 1.5, HOUSE).height == pytest.approx(841 * 1.5)


def test_the_same_score_gives_the_same_pages() -> None:
    made = score("chamber", 4)
    assert engrave(xml(made), HOUSE, page_size(made)) == engrave(xml(made), HOUSE, page_size(made))


def test_what_is_no_score_is_told() -> None:
    with pytest.raises(OutputError, match="can't draw"):
        engrave(b"<nothing/>", HOUSE, PART)


@pytest.mark.parametrize("lineup", LINEUPS)
def test_a_file_says_its_own_page(lineup: str) -> None:
    size, read = page_size(score(lineup)), written_size(xml(score(lineup)), HOUSE)
    assert (read.width, read.height, read.margin, read.staff) == (size.width, size.height, size.margin, size.staff)


def test_twelve_staves_stand_twice_on_a_page_that_they_would_leave_half_empty() -> None:
    made, _ = engraved("chamber")
    assert PAPER["easy_staff"] <= made.size.staff < PAPER["staff"]
    systems = [page.count('class="system"') for page in made.pages]
    assert systems[0] == 2
    assert lowest(made.pages[0]) / 100 >= PAPER["full"] * (made.size.height - 2 * MARGIN)


def head(made: Score) -> dict[str, float]:
    """The words of the drawn first page's head, and their sizes in hundredths of a millimetre."""
    first = etree.fromstring(engrave(xml(made), HOUSE).pages[0].encode())
    return {
        "".join(words.itertext()).strip(): float(size.get("font-size")[:-2])
        for words in first.iter(f"{SVG}tspan")
        if words.get("class") == "rend" and words.get("text-anchor")
        for size in words.iter(f"{SVG}tspan")
        if size.get("font-size")
    }


def test_the_title_is_larger_than_the_names_and_the_line_up_smaller() -> None:
    sizes = head(replace(score("chamber"), title="A walk", composer="Somebody"))
    names = HOUSE.first_page
    assert sizes["A walk"] == pytest.approx(sizes["Somebody"] * names["title"] / names["words"], rel=0.01)
    assert sizes[names["transposed"]] == sizes["Somebody"]
    (brass,) = (size for words, size in sizes.items() if words.startswith("Brass: Horn in F, "))
    assert brass == pytest.approx(sizes["Somebody"] * names["lineup"] / names["words"], rel=0.01)


def test_a_long_title_is_set_small_enough_for_the_page() -> None:
    title = "A walk & a talk " * 8
    sizes = head(replace(score("string quartet"), title=title.strip()))
    (size,) = (size for words, size in sizes.items() if words.startswith("A walk"))
    assert size / 100 * len(title) / 2 <= PART.width - 2 * MARGIN + 2
