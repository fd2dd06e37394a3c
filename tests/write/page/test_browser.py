"""The page in a real browser: Debian's Chromium, driven by Playwright."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from autoorch import delivery, pipeline
from autoorch.exhibits import Extras, exhibits
from autoorch.lineup import parse_lineup
from autoorch.sketch import read_sketch
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from tests.support.chromium import SMALL, WIDE, browser, until
from tests.support.opening import opening

__all__ = ["browser"]
pytestmark = pytest.mark.browser

EXAMPLE = Path(__file__).resolve().parents[3] / "examples" / "lighthouse-waltz" / "sketch.musicxml"
EVIL = '<img src=x onerror="document.body.dataset.hit=1"></script><script>document.body.dataset.hit=1</script>'
FINDING = {
    "severity": "risky", "rule": "range", "bar": "5", "beat": "2", "part": "Violin I", "message": EVIL, "source": "a book",
}  # fmt: skip
"""Under the name of the part, where the grid has the player's, "Violins I"."""


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    lineup = parse_lineup("romantic", load_tables())
    result = pipeline.draft(replace(opening(read_sketch(EXAMPLE), 24), title=EVIL), lineup, limits=Limits(seconds=5))
    folder = tmp_path_factory.mktemp("draft")
    delivery.write(result, folder / "made")
    written = {path.name: path.read_bytes() for path in (folder / "made").iterdir()}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("autoorch.exhibits.findings", lambda musicxml, tables, level: [FINDING])
        shown = exhibits(result, written, Extras(page=True, sound=True))
    (folder / "report.html").write_bytes(shown["report.html"])
    return folder / "report.html"


def opened(browser: Browser, file: Path, size: dict[str, int]) -> tuple[Page, list[str]]:
    """The page, and what its console and the network say."""
    page = browser.new_page(viewport=size)
    said: list[str] = []
    page.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: said.append(request.url) if request.url.startswith(("http", "ws")) else None)
    page.goto(file.as_uri())
    page.wait_for_selector("#grid td.plays")
    return page, said


def test_paper_gets_every_score_page_though_nobody_scrolled_there(browser: Browser, file: Path) -> None:
    page, _ = opened(browser, file, WIDE)
    holders = page.locator("#pages .page").count()
    assert holders > 1
    until(page, f"document.querySelectorAll('#pages img').length === {holders}")
    page.emulate_media(media="print")
    heights = page.locator("#pages img").evaluate_all("found => found.map((one) => one.clientHeight)")
    assert len(heights) == holders and min(heights) > WIDE["width"] / 2
    assert not page.locator("#score h2").is_visible()
    page.close()


@pytest.mark.parametrize("size", [WIDE, SMALL], ids=["wide", "small"])
def test_it_opens_without_a_word_in_the_console_and_fits(browser: Browser, file: Path, size: dict[str, int]) -> None:
    page, said = opened(browser, file, size)
    page.locator("#score").scroll_into_view_if_needed()
    page.wait_for_selector("#pages img")
    until(page, "document.querySelector('#pages img').naturalWidth > 0")
    assert said == []
    assert page.locator("h1").text_content() == EVIL, "as text"
    assert page.evaluate("document.body.dataset.hit") is None
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "no sideways scrolling of the page"
    page.close()


def test_layers_step_by_key_and_outline_what_they_change(browser: Browser, file: Path) -> None:
    page, said = opened(browser, file, WIDE)
    names = page.locator("input[name=layer]").evaluate_all("found => found.map((one) => one.value)")
    assert names[:2] == ["plan", "assigned"] and len(names) > 2
    full = page.locator("#grid td.plays").count()
    for _ in names[1:]:
        page.keyboard.press("[")
    assert page.locator("input[name=layer]:checked").get_attribute("value") == "plan"
    assert page.locator("#grid td.plays").count() == 0
    page.keyboard.press("]")
    shown, marked = (page.locator(f"#grid td.{name}").count() for name in ("plays", "marked"))
    assert 0 < shown == marked < full, "all of the first layer is its own"
    assert "the layer assigned" in page.locator("#changes-title").text_content()
    assert page.locator("#changes li").count() > 0
    page.keyboard.press("]")
    both, own = (page.locator(f"#grid td.{name}").count() for name in ("plays", "marked"))
    assert own < both > shown
    page.locator("input[value=alone]").check()
    assert page.locator("#grid td.plays").count() == page.locator("#grid td.marked").count() == own
    assert said == []
    page.close()


def test_a_cell_shows_its_reason_by_mouse_and_keyboard(browser: Browser, file: Path) -> None:
    page, said = opened(browser, file, WIDE)
    page.locator("#grid td.melody.starts").first.click()
    told = page.locator("#cell").text_content()
    assert re.search(r"melody|bass|inner|figure|counterline|pedal|rhythm", told)
    assert re.search(r"must be heard|without it the draft costs", told)
    name = page.locator("#grid td.here").get_attribute("aria-label")
    page.keyboard.press("ArrowRight")
    after = page.locator("#grid td.here").get_attribute("aria-label")
    assert name != after and name.split(",")[0] == after.split(",")[0], "the same player, the next bar"
    page.keyboard.press("End")
    page.keyboard.press("PageDown")
    assert page.locator("#grid td.here").get_attribute("aria-label").startswith("Double basses, bar ")
    assert page.locator("#grid td[tabindex='0']").count() == 1, "one stop for the tab key"
    assert said == []
    page.close()


def test_the_plan_speaks_in_words_and_is_set_as_cards_on_a_small_screen(browser: Browser, file: Path) -> None:
    page, _ = opened(browser, file, SMALL)
    said = page.locator("#plan").inner_text()
    assert "double bass" in said and "_" not in said
    assert page.locator("#plan .scroll").evaluate("found => found.scrollWidth <= found.clientWidth")
    cell = page.locator("#plan td").first
    assert (
        cell.get_attribute("data-head") == "bars"
        and cell.evaluate("found => getComputedStyle(found).display") == "flex"
    )
    page.close()


def test_texture_stands_as_a_stroke_in_a_band(browser: Browser, file: Path) -> None:
    """The stroke of a figure inside its band lies between the band's ends; one outside lies beyond them."""
    page, _ = opened(browser, file, WIDE)
    places = page.locator("#texture .strip").evaluate_all(
        """found => found.map((strip) => {
             const [band, stroke] = [...strip.children].map((one) => one.getBoundingClientRect());
             const middle = (stroke.left + stroke.right) / 2;
             return [strip.children[1].classList.contains("outside"), band.left - 2 <= middle && middle <= band.right + 2];
           })"""
    )
    assert len(places) % 8 == 0 and len(places) >= 16
    assert (
        [inside for outside, inside in places if not outside]
        == [True] * sum(not outside for outside, _ in places)
        != []
    )
    page.close()


def test_long_lists_are_folded_and_whole_on_paper(browser: Browser, file: Path) -> None:
    page, said = opened(browser, file, WIDE)
    script = """most => { const rows = [...Array(30).keys()].map(String);
      const made = folded(rows, most, (some) => make("ul", {}, ...some.map((row) => make("li", {}, row))));
      byId("told").append(...made);
      window.dispatchEvent(new Event("beforeprint")); window.dispatchEvent(new Event("afterprint"));
      return made.map((part) => [part.tagName, part.querySelectorAll("li").length, part.open === true]); }"""
    assert page.evaluate(script, 24) == [["UL", 24, False], ["DETAILS", 6, True]]
    assert page.evaluate(script, 30) == [["UL", 30, False]]
    assert said == []
    page.close()


def test_a_finding_leads_to_its_cell(browser: Browser, file: Path) -> None:
    page, said = opened(browser, file, WIDE)
    page.locator("#findings button.link").click()
    assert page.locator("#grid td.here").get_attribute("aria-label").startswith("Violins I, bar 5: ")
    assert page.locator("#cell .finding").text_content() == f"risky: {EVIL}"
    assert page.evaluate("document.body.dataset.hit") is None and said == []
    page.close()


def test_on_a_small_screen_the_reason_opens_and_closes(browser: Browser, file: Path) -> None:
    page, _ = opened(browser, file, SMALL)
    assert not page.locator("#cell").is_visible()
    page.locator("#grid td.plays").first.click()
    assert page.locator("#cell").is_visible()
    page.locator("#cell .close").click()
    assert not page.locator("#cell").is_visible()
    page.close()


def test_the_sound_plays_and_lights_its_bar(browser: Browser, file: Path) -> None:
    page, said = opened(browser, file, WIDE)
    until(page, "document.getElementById('player').duration > 5")
    page.locator("#grid .number").nth(3).click()
    page.wait_for_function(
        "!document.getElementById('player').paused && document.getElementById('player').currentTime > 0"
    )
    until(page, "document.querySelector('#grid .number.now')?.dataset.bar === '3'")
    assert said == []
    page.close()


def test_on_paper_the_grid_is_broken_into_rows_that_fit(browser: Browser, file: Path) -> None:
    page, said = opened(browser, file, WIDE)
    page.evaluate("grid.wrap(10)")
    assert page.locator("#grid table").count() == 3
    data = page.pdf(format="A4")
    assert data.startswith(b"%PDF-") and said == []
    page.close()


def test_shape_alone_tells_the_roles_apart(browser: Browser, file: Path) -> None:
    page, _ = opened(browser, file, WIDE)
    shapes = page.evaluate("Object.values(ROLES).map(([, shape]) => shape)")
    colours = page.evaluate("Object.values(ROLES).map(([colour]) => colour)")
    assert len(set(shapes)) == len(set(colours)) == 7
    page.close()
