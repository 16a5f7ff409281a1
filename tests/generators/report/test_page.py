"""The report page: what it says first, and that it is whole in itself."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from generators.report.page import Figure, PartRow, Report, Stage, Table, report_html
from layouts.checks import Check

GOOD = Check(
    id="web_mm",
    about="web between pockets",
    holds=True,
    value=1.45,
    limit=1.2,
    unit="mm",
    source="common practice, no source",
    remedy="a wider holder.web_mm",
)
BAD = replace(GOOD, holds=False, value=0.9)
SQUARE = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"><path d="M0 0L1 1"/></svg>'


def report(*checks: Check) -> Report:
    """A small report with the given checks."""
    return Report(
        name="pond-pump",
        tool="cellstead 0",
        lead="2S2P <of> cells",
        facts=(("cells", "4"),),
        space=("no space was given",),
        checks=checks,
        cautions=("cells burn",),
        notes=("a note",),
        steps=(Stage(title="Rings", steps=("rings first",)),),
        plans=(Figure(svg=SQUARE, caption="upper"),),
        section=None,
        exploded=Figure(svg=SQUARE, caption="apart"),
        parts=(
            PartRow(
                name="holder_lower",
                count=1,
                box_mm=(10, 20, 30),
                volume_mm3=6000,
                mass_g=7,
                print_note="outer face down",
                figures=(),
            ),
        ),
        bill=(("item", "count"), ("cell", "4")),
    )


class Balanced(HTMLParser):
    """Notes tags that are closed out of turn."""

    VOID = frozenset({"meta", "path", "circle", "rect"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.wrong: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        """Remember an opened tag."""
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Compare with the last one opened."""
        if tag not in self.VOID and (not self.open or self.open.pop() != tag):
            self.wrong.append(tag)


def test_all_checks_holding_is_said_first() -> None:
    """The verdict stands before the first section."""
    page = report_html(report(GOOD))
    assert "Design checks: all" in page.split("<section>")[0]


def test_a_failing_check_and_its_mend_are_said_first() -> None:
    """What fails, by how much and the remedy stand before the first section."""
    top = report_html(report(GOOD, BAD)).split("<section>")[0]
    assert "1 of 2 fail" in top
    assert "0.9 mm, at least 1.2 required" in top
    assert "a wider holder.web_mm" in top


@pytest.mark.parametrize("checks", [(GOOD,), (GOOD, BAD)])
def test_page_needs_nothing_from_outside(checks: tuple[Check, ...]) -> None:
    """No link, script or outside picture; the only address is the name space of SVG."""
    page = report_html(report(*checks))
    assert re.findall(r"https?://[^\"' <]*", page.replace("http://www.w3.org/2000/svg", "")) == []
    assert not re.search(r"<(script|link|img|iframe|a)\b|@import|url\((?!#)", page)


def test_tags_close_in_turn_and_user_text_is_escaped() -> None:
    """The page is well formed and text from the pack file can't break it."""
    page = report_html(report(BAD))
    reader = Balanced()
    reader.feed(page)
    assert reader.wrong == []
    assert reader.open == []
    assert "&lt;of&gt;" in page


def test_ticked_steps_have_a_box_and_others_have_none() -> None:
    """One box a step of the build sheet; what is only to be known has none."""
    stages = (
        Stage(title="Rings", steps=("one", "two")),
        Stage(title="Storage", steps=("dry",), ticked=False),
    )
    page = report_html(replace(report(GOOD), steps=stages))
    assert page.count("<span class=box></span>") == 2
    assert "<span class=box></span><span>one</span>" in page
    assert "<li><span>dry</span></li>" in page


def test_taps_and_cutting_lists_stand_before_the_build_sheet() -> None:
    """Titles, rows and notes of the tables are there, and text in them is escaped."""
    table = Table(title="Volts", headings=("wire",), rows=(("B0 <x>",),), note="in order")
    page = report_html(
        replace(report(GOOD), balance_leads=table, cutting=(replace(table, title="Cuts"),))
    )
    places = [page.index(f">{word}</h") for word in ("Volts", "Cuts", "Build sheet")]
    assert places == sorted(places)
    assert page.count("B0 &lt;x&gt;") == 2 and page.count("in order") == 2
