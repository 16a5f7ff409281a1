"""The report in a real browser, offline: it shows all, fits a narrow screen, prints."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="extra `test` brings playwright")

ARGUMENTS = [
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="module")
def page(small_run: Path) -> Iterator[Any]:
    """The small run's report, opened with no network; errors on the page fail the test."""
    names = ("chromium", "chromium-browser", "google-chrome")
    program = os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, names)), None)
    if program is None:
        (pytest.fail if os.environ.get("CI") else pytest.skip)("no Chromium on this machine")
    with playwright.sync_playwright() as browsers:
        browser = browsers.chromium.launch(executable_path=program, args=ARGUMENTS)
        context = browser.new_context(offline=True, viewport={"width": 1000, "height": 1200})
        opened = context.new_page()
        errors: list[str] = []
        opened.on("pageerror", lambda error: errors.append(str(error)))
        opened.on("request", lambda request: errors.append(request.url))
        opened.goto((small_run / "report.html").as_uri())
        yield opened
        asked = [error for error in errors if not error.startswith("file:")]
        browser.close()
    assert asked == []


def test_verdict_is_seen_without_scrolling(page: Any) -> None:
    """Whether the pack holds stands on the first screen."""
    box = page.locator(".verdict").bounding_box()
    assert box["y"] + box["height"] < 700
    assert "pass" in page.locator(".verdict strong").inner_text()


def test_every_picture_has_a_size(page: Any) -> None:
    """Both shaded pictures, plans, weld plans, wires in order, cut, exploded view, plates on their
    stock, two views of each part: none empty."""
    boxes = [svg.bounding_box() for svg in page.locator("figure svg").all()]
    parts = page.locator("section:has(h2:text('Printed parts')) tbody tr").count()
    assert parts >= 5
    assert len(boxes) == 10 + 2 * parts
    assert all(box and box["width"] > 40 and box["height"] > 20 for box in boxes)


@pytest.mark.parametrize("width", [1000, 390])
def test_page_does_not_overflow_sideways(page: Any, width: int) -> None:
    """On a desk and on a phone at the bench nothing is cut off."""
    page.set_viewport_size({"width": width, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.set_viewport_size({"width": 1000, "height": 1200})


def test_it_prints(page: Any) -> None:
    """A print preview comes out as a PDF of several pages."""
    printed = page.pdf(format="A4")
    assert printed.startswith(b"%PDF")
    assert printed.count(b"/Type /Page\n") + printed.count(b"/Type/Page") >= 3


def test_on_a_phone_numbers_show_when_asked_for(page: Any) -> None:
    """Without them the picture is too small for balloons; with them it is larger and scrolls by
    itself, never the page; on a wide screen they always show."""
    wide = page.viewport_size
    balloon = page.locator(".cutaway .balloon").first
    assert balloon.is_visible()
    page.set_viewport_size({"width": 390, "height": 800})
    assert not balloon.is_visible()
    page.locator("#numbers-cutaway").check()
    assert balloon.is_visible()
    assert page.locator(".cutaway svg").bounding_box()["width"] > 900
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.locator("#numbers-cutaway").uncheck()
    page.set_viewport_size(wide)
    for name in ("cutaway", "exploded"):
        numbers = page.locator(f".{name} .balloon text").all_text_contents()
        assert len(numbers) >= 8
        assert sorted(numbers) == sorted(page.locator(f".{name} .key b").all_text_contents())
