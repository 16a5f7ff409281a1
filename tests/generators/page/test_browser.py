"""The page in a real browser: a pack drawn, found, mended, saved; security and reading."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from generators.packfile.examples import FIRST, example_text
from tests.generators.page.test_editing import changes
from tests.generators.report.test_browser import ARGUMENTS, CONTRASTS

playwright = pytest.importorskip("playwright.sync_api", reason="extra `test` brings playwright")
pytestmark = pytest.mark.slow
LONG_MS = 180_000


def free_port() -> int:
    """A port that nobody listens at."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port: int = one.getsockname()[1]
        return port


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page's folder with a pack file in it."""
    inner = tmp_path_factory.mktemp("packs")
    (inner / "trolley.yaml").write_text(example_text(FIRST), encoding="utf-8")
    return inner


@pytest.fixture(scope="module")
def server(folder: Path) -> Iterator[tuple[str, int]]:
    """Address and process number of a page; ended as Ctrl-C does, with nothing left of it."""
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-m", "generators", "page", "--no-browser", "--port", str(port)],
        cwd=folder,
        env=os.environ | {"PYTHONPATH": str(Path(__file__).parents[3])},
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert f"http://127.0.0.1:{port}/" in process.stdout.readline()
    yield f"http://127.0.0.1:{port}/", process.pid
    below = descendants(process.pid)
    process.send_signal(signal.SIGINT)
    assert process.wait(timeout=20) == 130
    process.stdout.close()
    until(lambda: not [pid for pid in below if Path(f"/proc/{pid}").exists()])


def descendants(pid: int) -> list[int]:
    """Numbers of all processes below one."""
    parents = {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = path.read_text(encoding="utf-8").rpartition(")")[2].split()
        except OSError:  # it has just ended
            continue
        parents[int(path.parent.name)] = int(fields[1])
    found, new = [], [pid]
    while new:
        new = [one for one, above in parents.items() if above in new]
        found += new
    return found


def until(holds: Callable[[], bool], limit_s: float = 20.0) -> None:
    """Wait until something holds; fails where it does not in time."""
    end = time.monotonic() + limit_s
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.05)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Chromium of this machine."""
    names = ("chromium", "chromium-browser", "google-chrome")
    program = os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, names)), None)
    if program is None:
        (pytest.fail if os.environ.get("CI") else pytest.skip)("no Chromium on this machine")
    with playwright.sync_playwright() as browsers:
        opened = browsers.chromium.launch(executable_path=program, args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture
def page(browser: Any, server: tuple[str, int]) -> Iterator[Any]:
    """A tab at the start of the page; errors and requests to anyone else fail the test."""
    context = browser.new_context(viewport={"width": 1360, "height": 1000})
    tab = context.new_page()
    errors: list[str] = []
    asked: set[str] = set()
    tab.on("pageerror", lambda error: errors.append(str(error)))
    tab.on("console", lambda said: said.type == "error" and errors.append(said.text))
    tab.on("request", lambda request: asked.add(request.url))
    tab.goto(server[0])
    waited(tab, "start")
    yield tab
    context.close()
    assert errors == []
    assert [one for one in asked if not one.startswith((server[0], "data:"))] == []


def waited(tab: Any, stage: str, value: str | None = None) -> None:
    """Until a stage has been told (to the present text, where its number is given)."""
    query = f"body[data-{stage}]" if value is None else f"body[data-{stage}='{value}']"
    tab.locator(query).wait_for(state="attached", timeout=LONG_MS)


def test_from_the_space_to_a_saved_pack(page: Any, folder: Path) -> None:
    """Drawn with mouse and keys, a bolt in it, a row taken; undone, saved, loaded anew."""
    page.click("#new")
    waited(page, "most")
    assert page.locator("#says").inner_text() == "Next: what must the battery do?"
    corner = page.locator("[data-drag='corner:2'] rect")
    at = corner.bounding_box()
    x, y = at["x"] + at["width"] / 2, at["y"] + at["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 30, y - 30, steps=4)
    page.mouse.up()
    length = page.get_by_label("length, x")
    playwright.expect(length).not_to_have_value("300")
    before = float(length.input_value())
    assert before > 310
    page.focus("[data-drag='corner:1']")
    page.keyboard.press("Shift+ArrowLeft")
    playwright.expect(length).to_have_value(f"{before - 10:g}")
    page.keyboard.press("ArrowLeft")
    playwright.expect(length).to_have_value(f"{before - 11:g}")
    page.click("#undo")
    page.click("#undo")
    playwright.expect(length).to_have_value(f"{before:g}")
    page.click("#add-round")
    page.locator("[data-drag='keep:0']").wait_for()
    page.click("#undo")
    for label, value in (("length, x", 150), ("width, y", 110), ("height, z", 100)):
        page.get_by_label(label).fill(str(value))
    page.locator("#pack-form").get_by_label("size of the cell").fill("21700")
    page.fill("#volts", "7.2")
    page.fill("#wh", "60")
    page.click("#suggest")
    waited(page, "rows")
    page.locator(".pick").first.click()
    waited(page, "cells")
    text = page.locator("#facts").inner_text()
    assert "2S" in text
    page.click("#save")
    playwright.expect(page.locator("#file")).to_have_text("my-pack.yaml")
    assert "series: 2" in (folder / "my-pack.yaml").read_text(encoding="utf-8")
    page.reload()
    waited(page, "cells")
    assert page.locator("#facts").inner_text() == text


def test_values_verdict_and_saving(page: Any, folder: Path) -> None:
    """A broken value is told under its field and loses nothing; cells follow a number; what fails
    is told; the saved file differs in the changed lines alone; nothing is too wide on a phone, and
    all text can be read in both themes."""
    page.get_by_role("button", name="trolley.yaml").click()
    waited(page, "cells")
    count = page.locator("#bench .cell").count()
    assert count == 40
    form = page.locator("#pack-form")
    capacity = form.get_by_label("capacity")
    capacity.fill("lots")
    waited(page, "faults")
    playwright.expect(form.locator(".fault:visible")).to_have_count(1)
    assert page.locator("#bench .cell").count() == count
    capacity.fill("4,8")
    playwright.expect(form.locator(".fault:visible")).to_have_count(0)
    form.get_by_label("parallel").fill("3")
    playwright.expect(page.locator("#bench .cell")).to_have_count(30)
    page.locator("#details summary", has_text="fuse").click()
    page.get_by_label("rating").fill("15")
    waited(page, "checks")
    playwright.expect(page.locator("#says")).to_contain_text("fail", timeout=LONG_MS)
    assert "fuse" in page.locator("#failed").inner_text()
    gap_follows_a_corner(page)
    page.click("#save")
    playwright.expect(page.locator("#file")).to_have_text("trolley.yaml")
    saved = (folder / "trolley.yaml").read_text(encoding="utf-8")
    gone, new = changes(example_text(FIRST), saved)
    assert [line.split()[0] for line in gone] == ["parallel:", "rating_a:"]
    assert new[0].endswith("# 19.2 Ah")
    page.set_viewport_size({"width": 390, "height": 844})
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        seen = page.evaluate(CONTRASTS)
        assert len(seen) > 60
        # WCAG 2.2, success criterion 1.4.3, text of usual size
        assert [row for row in seen if row[0] < 4.5] == []
    unnamed = page.evaluate(
        "[...document.querySelectorAll('input, select, textarea, button, svg[role]')].filter(one =>"
        " !(one.labels?.length || one.textContent.trim() || one.getAttribute('aria-label')))"
        ".map(one => one.outerHTML.slice(0, 90))"
    )
    assert unnamed == []


def gap_follows_a_corner(page: Any) -> None:
    """While it is dragged, before it is let go; put back, nothing has changed."""
    words = page.locator("#gap").inner_text()
    page.locator("[data-drag='corner:2']").scroll_into_view_if_needed()
    page.evaluate("scrollTo(0, 0)")
    at = page.locator("[data-drag='corner:2'] rect").bounding_box()
    x, y = at["x"] + at["width"] / 2, at["y"] + at["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 40, y - 40, steps=3)
    playwright.expect(page.locator("#gap")).not_to_have_text(words, timeout=LONG_MS)
    page.mouse.move(x, y, steps=3)
    playwright.expect(page.locator("#gap")).to_have_text(words, timeout=LONG_MS)
    page.mouse.up()


def test_making_is_cancelled_at_once(page: Any, server: tuple[str, int]) -> None:
    """In about half a second on a machine that is not busy, and no process of it is left."""
    page.get_by_role("button", name="river-raft").click()
    waited(page, "cells")
    before = set(descendants(server[1]))
    page.click("#make")
    waited(page, "make", "runs")
    until(lambda: len(set(descendants(server[1])) - before) >= 3)
    began = time.monotonic()
    page.click("#cancel")
    waited(page, "make", "cancelled")
    assert time.monotonic() - began < 2.0
    assert set(descendants(server[1])) - before == set()


def test_text_of_a_file_is_never_run(page: Any, folder: Path) -> None:
    """Markup in names and values is shown as text."""
    evil = "<img src=x onerror=alert(1)><script>alert(1)</script>"
    text = f'name: "{evil}"\nspace: {{box_mm: [300, 200, 100], keep_out: [{{name: "{evil[:40]}", '
    text += "box_mm: [[0, 0, 0], [9, 9, 9]]}]}\n"
    (folder / "evil.yaml").write_text(text + "series: 4\n", encoding="utf-8")
    page.on("dialog", lambda dialog: pytest.fail(dialog.message))
    page.reload()
    page.get_by_role("button", name="evil.yaml").click()
    waited(page, "space")
    waited(page, "faults")
    assert "<img" in page.locator("#failed").inner_text()
    assert page.locator("main img[src=x]").count() == 0
