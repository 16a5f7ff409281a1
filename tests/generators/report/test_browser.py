"""The report in a real browser, offline: it shows all, fits a narrow screen, prints."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="extra `test` brings playwright")

# Contrast ratio (WCAG 2.2, definition) of each piece of text outside of drawings, with the ground
# that it stands on, and its words.
CONTRASTS = """() => {
  const channels = (colour) => colour.match(/[\\d.]+/g).map(Number);
  const light = (colour) => {
    const [r, g, b] = channels(colour).map((v) => v / 255).map((v) =>
      v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (!/, 0\\)$/.test(colour)) return colour;
    }
    return 'rgb(255, 255, 255)';
  };
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const seen = [];
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement;
    if (!walker.currentNode.textContent.trim() || element.closest('svg, script')) continue;
    const [low, high] = [light(getComputedStyle(element).color), light(ground(element))]
      .sort((a, b) => a - b);
    seen.push([(high + 0.05) / (low + 0.05), walker.currentNode.textContent.slice(0, 40)]);
  }
  return seen;
}"""
ARGUMENTS = [
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@contextmanager
def opened_report(file: Path) -> Iterator[Any]:
    """A report opened with no network; errors on the page and requests fail the test."""
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
        opened.on("console", lambda said: errors.append(said.text))
        opened.on("request", lambda request: errors.append(request.url))
        opened.goto(file.as_uri())
        yield opened
        browser.close()
    # the page itself, its pictures as data, and nothing else
    asked = {error.partition("#")[0] for error in errors if not error.startswith("data:")}
    assert asked == {file.as_uri()}


@pytest.fixture(scope="module")
def page(small_run: Path) -> Iterator[Any]:
    """The small run's report."""
    with opened_report(small_run / "report.html") as opened:
        yield opened


def printed_text(page: Any) -> list[str]:
    """Text of each page of the report on A4."""
    document = pypdfium2.PdfDocument(page.pdf(format="A4"))
    return [sheet.get_textpage().get_text_bounded() for sheet in document]


def test_verdict_is_seen_without_scrolling(page: Any) -> None:
    """Whether the pack holds stands on the first screen."""
    box = page.locator(".verdict").bounding_box()
    assert box["y"] + box["height"] < 700
    assert "pass" in page.locator(".verdict h2").inner_text()
    assert page.locator(".verdict .bar").count() == 4


def test_every_picture_has_a_size(page: Any) -> None:
    """Both shaded pictures, plans, maps, weld plans, leads in order, section, plates on their
    stock, the label, two views of each part: none empty."""
    boxes = [svg.bounding_box() for svg in page.locator("figure svg").all()]
    parts = page.locator("#printed-parts tbody tr").count()
    assert parts >= 5
    assert len(boxes) >= 13 + 2 * parts
    assert all(box and box["width"] > 40 and box["height"] > 20 for box in boxes)


def test_contents_reach_every_section(page: Any) -> None:
    """One link a section, in their order; the list stands beside the text on a wide screen and is
    folded on a narrow one."""
    links = [link.get_attribute("href") for link in page.locator("#contents a").all()]
    sections = [one.get_attribute("id") for one in page.locator("main > section[id]").all()]
    assert len(sections) >= 10
    assert links == [f"#{name}" for name in sections]
    wide = page.viewport_size
    page.set_viewport_size({"width": 1280, "height": 900})
    assert page.locator("#contents ol").is_visible()
    page.locator('#contents a[href="#build-sheet"]').click()
    playwright.expect(page.locator("#build-sheet h2")).to_be_in_viewport()
    playwright.expect(page.locator("#contents ol")).to_be_in_viewport()
    page.set_viewport_size({"width": 390, "height": 800})
    playwright.expect(page.locator("#contents ol")).to_be_hidden()
    page.set_viewport_size(wide)


def test_balloons_lead_to_their_rows_of_the_bill(page: Any) -> None:
    """Each number in a picture is a row of the bill, and so is each of the key."""
    rows = page.locator(".balloon, .key a").evaluate_all(
        "all => all.map(link => link.getAttribute('href').slice(1))"
    )
    assert len(set(rows)) >= 8
    for row in set(rows):
        first = page.locator(f"tr[id='{row}'] td").first.text_content()
        assert row == f"bill-{first}"


def test_text_can_be_read_in_both_themes(page: Any) -> None:
    """Contrast of every text with the ground it stands on, as the browser computes it."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        seen = page.evaluate(CONTRASTS)
        assert len(seen) > 300
        # WCAG 2.2, success criterion 1.4.3, text of usual size
        assert [row for row in seen if row[0] < 4.5] == []
    page.emulate_media(color_scheme="light")


@pytest.mark.parametrize("width", [390, 800, 1360])
def test_both_faces_have_one_scale(page: Any, width: int) -> None:
    """Pixels for a millimetre are the same in both, and the scale bar is as long as it says."""
    wide = page.viewport_size
    page.set_viewport_size({"width": width, "height": 900})
    scales = page.locator("#faces svg").evaluate_all(
        "all => all.map(svg => svg.getBoundingClientRect().width / svg.viewBox.baseVal.width)"
    )
    assert len(scales) == 2
    assert scales[1] == pytest.approx(scales[0], rel=0.002)
    length = float(page.locator("#faces .ruler").inner_text().split()[0])
    drawn = page.locator("#faces-bar").bounding_box()["width"]
    assert drawn == pytest.approx(length * scales[0], rel=0.01)
    page.set_viewport_size(wide)


def test_ticks_and_readings_are_kept(page: Any) -> None:
    """After the page is opened again they are there; they are counted, and cleared when asked."""
    box = page.locator(".steps input").nth(1)
    blank = page.locator("#weld-plans input[type=text]").first
    total = page.locator(".steps input").count()
    box.check()
    blank.fill("3.61")
    page.reload()
    assert box.is_checked() and blank.input_value() == "3.61"
    assert page.locator("#done").inner_text() == f"1 of {total} steps done"
    page.locator("#untick").click()
    blank.fill("")
    page.reload()
    assert not box.is_checked() and blank.input_value() == ""


def test_groups_of_checks_open_when_one_of_them_is_sought(page: Any) -> None:
    """Folded where all holds; the nearest limit leads to its row, which is then seen."""
    assert page.locator("details.group").count() >= 7
    assert page.locator("details.group[open]").count() == 0
    link = page.locator(".nearest a").first
    row = page.locator(link.get_attribute("href"))
    assert not row.is_visible()
    link.click()
    row.wait_for(state="visible")
    page.locator("details.group").evaluate_all("all => all.forEach(one => { one.open = false; })")


def test_page_has_its_landmarks(page: Any) -> None:
    """Banner, contents, main part and foot; each picture and each blank has a name, and each
    address on the page one owner."""
    ids = page.locator("[id]").evaluate_all("all => all.map(one => one.id)")
    assert len(ids) == len(set(ids))
    for role in ("banner", "navigation", "main", "contentinfo"):
        assert page.get_by_role(role).count() == 1, role
    nameless = page.evaluate(
        "[...document.querySelectorAll('svg[role=img]')].filter(svg => "
        "!svg.getAttribute('aria-label') && !svg.querySelector('title')?.textContent).length"
    )
    assert nameless == 0
    assert page.locator("figure svg:not([role=img])").count() == 0
    assert page.locator("input[type=text]:not([aria-label])").count() == 0


@pytest.mark.parametrize("width", [1000, 390])
def test_page_does_not_overflow_sideways(page: Any, width: int) -> None:
    """On a desk and on a phone at the bench nothing is cut off."""
    page.set_viewport_size({"width": width, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.set_viewport_size({"width": 1000, "height": 1200})


def test_it_prints_with_everything_open(page: Any) -> None:
    """On paper every check and the pack file can be read, and buttons are left out; afterwards the
    groups are folded as before."""
    text = printed_text(page)
    assert len(text) >= 5
    whole = re.sub(r"\s+", " ", "".join(text))
    for about in page.locator(".checks .about").evaluate_all(
        "all => all.map(one => one.firstChild.textContent.trim())"
    ):
        assert re.sub(r"\s+", "", about) in re.sub(r"\s+", "", whole)
    assert "lattice: honeycomb" in whole
    assert "Clear all ticks" not in whole
    assert page.locator("details.group[open]").count() == 0


def test_label_is_printed_at_its_true_size(page: Any) -> None:
    """A millimetre of the label is one on paper (CSS Values and Units Level 3: 1in is 96px)."""
    page.emulate_media(media="print")
    px = page.locator("#pack-label svg").evaluate(
        "svg => svg.getBoundingClientRect().width / svg.viewBox.baseVal.width"
    )
    page.emulate_media(media="screen")
    assert px == pytest.approx(96 / 25.4, rel=1e-3)


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


def test_the_commissioning_sheet_is_two_pages_and_fits_a_phone(page: Any, small_run: Path) -> None:
    """One sheet of paper, both sides; on a phone nothing scrolls sideways, and blanks are kept."""
    address = (small_run / "commissioning.html").as_uri()
    other = page.context.browser.new_context(offline=True, viewport={"width": 390, "height": 844})
    opened = other.new_page()
    said: list[str] = []
    opened.on("pageerror", lambda error: said.append(str(error)))
    opened.on("console", lambda word: said.append(word.text))
    opened.on("request", lambda request: said.append(request.url))
    opened.goto(address)
    assert opened.evaluate("document.documentElement.scrollWidth <= innerWidth")
    opened.locator("#runs td input").first.fill("12.3")
    opened.locator("#proof input[type=checkbox]").first.check()
    opened.reload()
    assert opened.locator("#runs td input").first.input_value() == "12.3"
    assert opened.locator("#proof input[type=checkbox]").first.is_checked()
    sheets = pypdfium2.PdfDocument(opened.pdf(prefer_css_page_size=True))
    assert [round(one.get_width()) for one in sheets] == [595, 595]  # 210 mm at 72 to the inch
    assert set(said) == {address}
    other.close()
