"""Debian's Chromium, driven by Playwright: the browser of a test module, sizes of windows, waiting on a page."""

from __future__ import annotations

import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

WIDE, SMALL = {"width": 1400, "height": 900}, {"width": 390, "height": 844}


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    program = shutil.which("chromium")
    assert program, "Chromium is not installed"
    with sync_playwright() as running:
        made = running.chromium.launch(
            executable_path=program, args=["--no-sandbox", "--autoplay-policy=no-user-gesture-required"]
        )
        yield made
        made.close()


def until(page: Page, expression: str) -> None:
    """Wait until something holds on the page (its policy forbids the browser to wait by itself)."""
    for _ in range(100):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"never true: {expression}")
