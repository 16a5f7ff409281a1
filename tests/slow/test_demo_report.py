"""The demo's report in a browser: on how many sheets it prints, and how large it is."""

from __future__ import annotations

from pathlib import Path

import pytest

from generators.packfile.examples import example_text
from tests.generators.report.test_browser import opened_report, printed_text
from tests.runs import make

pytestmark = pytest.mark.slow
SHEETS = 14
LARGEST_BYTES = 4_000_000


def test_it_prints_on_few_sheets_and_is_small(tmp_path: Path) -> None:
    """At most 14 sheets of A4 and 4 MB; both faces share a scale, nothing scrolls sideways on a
    phone."""
    folder, failed = make(example_text("orchard-trolley"), tmp_path)
    assert failed == ()
    assert (folder / "report.html").stat().st_size < LARGEST_BYTES
    with opened_report(folder / "report.html") as page:
        assert len(printed_text(page)) <= SHEETS
        page.set_viewport_size({"width": 390, "height": 844})
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        upper, lower = page.locator("#faces svg").evaluate_all(
            "all => all.map(svg => svg.getBoundingClientRect().width / svg.viewBox.baseVal.width)"
        )
        assert lower == pytest.approx(upper, rel=0.002)
