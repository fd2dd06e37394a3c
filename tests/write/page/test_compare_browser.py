"""Drafts side by side in a real browser: the place is kept, both reasons are shown, picking makes a command that works."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner
from playwright.sync_api import Browser, Page

from autoorch.cli import main
from autoorch.write.graft import parts_of
from tests.support.chromium import SMALL, WIDE, browser, until

__all__ = ["browser"]
pytestmark = pytest.mark.browser

CUE = Path(__file__).resolve().parents[3] / "examples" / "harbour-snow-cue" / "sketch.musicxml"


def command(*words: str) -> str:
    made = CliRunner().invoke(main, list(words), catch_exceptions=False)
    assert made.exit_code == 0, made.output
    return made.output


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two drafts with sound, and their page."""
    out = tmp_path_factory.mktemp("beside")
    command(
        "draft", str(CUE), "--for", "chamber", "--count", "2", "--seconds", "4", "--sound", "--no-page",
        "-o", str(out / "drafts"),
    )  # fmt: skip
    said = command("compare", str(out / "drafts"), "-o", str(out / "comparison"))
    assert said.splitlines()[0].split()[:2] == ["draft", "line-up"]
    assert len(said.splitlines()) == 4
    return out


def opened(browser: Browser, folder: Path, size: dict[str, int]) -> Page:
    page = browser.new_page(viewport=size)  # type: ignore[arg-type]
    problems: list[str] = []
    page.on("pageerror", lambda error: problems.append(str(error)))
    page.on("request", lambda request: problems.append(request.url) if request.url.startswith("http") else None)
    page.goto((folder / "comparison" / "compare.html").as_uri())
    page.wait_for_selector("#grids table.grid")
    assert problems == []
    return page


def test_another_draft_goes_on_in_the_same_bar(browser: Browser, folder: Path) -> None:
    page = opened(browser, folder, WIDE)
    page.locator("#grids .grid").first.locator("th.number").nth(8).click()
    until(page, "document.querySelector('#grids .now') && document.getElementById('player').currentTime > 0")
    before = page.evaluate(
        "[barAt(sounding), drafts.indexOf(sounding), player.currentTime - sounding.heard.bars[8][1]]"
    )
    assert before[0] >= 8 and before[1] == 0
    page.locator("#heard input").nth(1).check()
    until(page, "sounding === drafts[1] && player.readyState > 1 && player.currentTime > 1 && !player.paused")
    after = page.evaluate("[barAt(sounding), drafts.indexOf(sounding)]")
    assert after[1] == 1
    assert before[0] <= after[0] <= before[0] + 2
    lit = page.locator("#grids .grid").nth(1).locator("th.now")
    lit.wait_for()
    page.close()


def test_a_difference_is_outlined_and_shows_both_reasons(browser: Browser, folder: Path) -> None:
    page = opened(browser, folder, WIDE)
    marked = page.locator("#grids .grid").nth(1).locator("td.marked")
    assert marked.count() > 0
    marked.first.click()
    boxes = page.locator("#cell .choice")
    assert boxes.count() == 2
    assert [box.get_attribute("data-draft") for box in boxes.all()] == ["1", "2"]
    assert page.locator("#cell .choice").nth(1).locator(".why").count() > 0
    both = page.evaluate(
        """() => { for (const name of names) for (let bar = 0; bar < first.bars.length; bar++) {
             const all = drafts.map((d) => d.view.choices(d.grid.players.findIndex((p) => p.name === name), bar));
             if (all.every((found) => found.length) && all[0][0].role !== all[1][0].role) { tell(name, bar); return true; } }
             return false; }"""
    )
    assert both
    assert all(box.locator(".why").count() > 0 for box in boxes.all())
    page.close()


def test_every_bar_of_every_draft_has_its_balance_and_every_player_his_rests(browser: Browser, folder: Path) -> None:
    page = opened(browser, folder, WIDE)
    bars, players, rules = page.evaluate("[first.bars.length, names.length, rules.length]")
    tables = page.locator("#grids table.grid")
    assert tables.count() == 2
    for grid in tables.all():
        cells = grid.locator("td.balance")
        assert cells.count() == bars
        told = [cell.get_attribute("title") or "" for cell in cells.all()]
        assert all(text.startswith("Bar ") for text in told)
        strong = [text for text in told if re.search(r"tune [0-9.]*[1-9]", text)]
        assert len(strong) > bars // 2
        assert grid.locator("td.balance .tune").count() == len(strong)
    heights = page.evaluate("[...document.querySelectorAll('td.balance .tune')].map((one) => one.offsetHeight)")
    assert max(heights) > min(heights) > 0
    assert page.locator("#playing tbody tr").count() == players
    assert re.match(r"\d+, rests \d+", page.locator("#playing tbody td").nth(1).inner_text().strip())
    assert 0 < page.locator("#costs tbody tr").count() <= rules
    assert page.locator("#pages img, #pages figure").count() > 0
    page.close()


def test_picking_phrases_makes_the_command_that_builds_the_mixed_draft(browser: Browser, folder: Path) -> None:
    page = opened(browser, folder, WIDE)
    rows = page.locator("#phrases tbody tr")
    count = rows.count()
    assert page.locator("#command").input_value() == ""
    for row in range(count):
        rows.nth(row).locator("input").nth(0 if row < count // 2 else 1).check()
    words = shlex.split(page.locator("#command").input_value())
    page.close()
    assert words[:3] == ["autoorch", "draft", "--keep"]
    keeps = [word for word in words if word.startswith(str(folder))]
    assert len(keeps) == 2
    words[words.index("-o") + 1] = str(folder / "mixed")
    command(*words[1:], "--no-page", "--seconds", "4")
    mixed = parts_of((folder / "mixed" / "score.musicxml").read_bytes())
    for name, (first, last) in {
        word.rpartition(":")[0]: tuple(map(int, word.rpartition(":")[2].split("-"))) for word in keeps
    }.items():
        source = parts_of((Path(name) / "score.musicxml").read_bytes())
        for part, bars in source.items():
            assert mixed[part][first - 1 : last] == bars[first - 1 : last]


def test_keyboard_and_small_screen(browser: Browser, folder: Path) -> None:
    page = opened(browser, folder, SMALL)
    assert page.evaluate("document.documentElement.scrollWidth") <= SMALL["width"]
    assert page.locator("#drafts .scroll").evaluate("found => found.scrollWidth <= found.clientWidth")
    page.locator("#grids td[tabindex='0']").first.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowDown")
    assert page.locator("#cell.open h3").inner_text().endswith("bar 2")
    page.keyboard.press("Escape")
    assert page.locator("#cell.open").count() == 0
    page.locator("#against input").nth(1).focus()
    page.keyboard.press("Space")
    assert page.locator("#against input").nth(1).is_checked()
    page.close()


def test_bars_of_drafts_for_other_players_can_not_be_picked_together(browser: Browser, tmp_path: Path) -> None:
    lineups = ("--for", "string quartet", "--for", "wind quintet")
    said = command("draft", str(CUE), *lineups, "--seconds", "2", "-o", str(tmp_path / "both"))
    assert said.splitlines()[-1] == f"beside each other: open {tmp_path / 'both' / 'compare.html'} in a browser"
    page = browser.new_page(viewport=WIDE)  # type: ignore[arg-type]
    page.goto((tmp_path / "both" / "compare.html").as_uri())
    page.wait_for_selector("#grids table.grid")
    assert page.locator("#mix").get_by_text("Bars are kept between drafts of one line-up only.").count() == 1
    rows = page.locator("#phrases tbody tr")

    def disabled(row: int) -> list[bool]:
        return [box.is_disabled() for box in rows.nth(row).locator("input").all()]

    assert rows.count() > 1 and disabled(1) == [False, False, False]
    rows.nth(0).locator("input").nth(0).check()
    assert disabled(0) == disabled(1) == [False, True, False]
    rows.nth(0).locator("input").nth(2).check()
    assert disabled(1) == [False, False, False]
