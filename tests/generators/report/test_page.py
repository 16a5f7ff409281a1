"""The report page: what it says first, and that it is whole in itself."""

from __future__ import annotations

import base64
import hashlib
import itertools
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from generators.report.markup import one_scale
from generators.report.page import report_html
from generators.report.values import Figure, PartRow, Report, Stage, Table
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

    VOID = frozenset({"meta", "path", "circle", "rect", "input", "br"})

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
    """The verdict stands before the first section, and says that nothing is built."""
    top = report_html(report(GOOD)).split('<section id="checks"')[0]
    assert "All 1 design checks pass" in top
    assert "Nothing is built or tested yet" in top


def test_a_failing_check_and_its_mend_are_said_first() -> None:
    """What fails, by how much and the remedy stand before the first section."""
    top = report_html(report(GOOD, BAD)).split('<section id="checks"')[0]
    assert "1 of 2 design checks fail" in top
    assert "0.9 mm, at least 1.2 required" in top
    assert "a wider holder.web_mm" in top


@pytest.mark.parametrize("checks", [(GOOD,), (GOOD, BAD)])
def test_page_needs_nothing_from_outside(checks: tuple[Check, ...]) -> None:
    """No outside link, script or picture; the only address is the name space of SVG."""
    page = report_html(report(*checks))
    assert re.findall(r"https?://[^\"' <]*", page.replace("http://www.w3.org/2000/svg", "")) == []
    assert not re.search(r"<(link|img|iframe)\b|@import|url\((?!#)| on\w+=| style=", page)
    links = re.findall(r'href="([^"]*)"', page)
    assert links and all(link.startswith("#") for link in links)


def test_policy_names_the_page_s_own_script_and_style_alone() -> None:
    """What the policy lets act is what stands in the page, by its SHA-256, and nothing else."""
    page = report_html(report(GOOD))
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)
    assert policy is not None
    rules = dict(rule.split(" ", 1) for rule in policy[1].split("; "))
    assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == "'none'"
    assert set(rules) == {"default-src", "base-uri", "form-action", "img-src", "style-src",
                          "script-src"}  # fmt: skip
    for kind, tag in (("style-src", "style"), ("script-src", "script")):
        (text,) = re.findall(rf"<{tag}>(.*?)</{tag}>", page, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert rules[kind] == f"'sha256-{digest}'"


def test_links_lead_to_what_is_there_and_names_are_used_once() -> None:
    """Contents, checks, sources, bill rows: each link has its target, each address one owner."""
    page = report_html(report(GOOD, BAD))
    ids = re.findall(r'\bid="?([^" >]+)', page)
    assert len(ids) == len(set(ids))
    targets = set(re.findall(r'href="#([^"]*)"', page))
    assert targets <= set(ids)
    assert {f"check-{k}" for k in (1, 2)} <= targets and "source-1" in targets


def test_headings_come_in_order() -> None:
    """One first heading; none skips a level, so that a screen reader's list is whole."""
    levels = [int(level) for level in re.findall(r"<h(\d)", report_html(report(GOOD, BAD)))]
    assert levels.count(1) == 1 and levels[0] == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))


def test_tags_close_in_turn_and_user_text_is_escaped() -> None:
    """The page is well formed and text from the pack file can't break it."""
    page = report_html(report(BAD))
    reader = Balanced()
    reader.feed(page)
    assert reader.wrong == []
    assert reader.open == []
    assert "&lt;of&gt;" in page


def test_ticked_steps_have_a_box_and_others_have_none() -> None:
    """One box a step of the build sheet; what is only to be known has none. A box is kept by the
    text of its step, so another step has another name, and the same one the same."""
    stages = (
        Stage(title="Rings", steps=("one", "two")),
        Stage(title="Storage", steps=("dry",), ticked=False),
    )
    page = report_html(replace(report(GOOD), steps=stages))
    boxes = re.findall(r'<input type="checkbox" data-keep="(\w+)"><span>(\w+)</span>', page)
    assert [words for _, words in boxes] == ["one", "two"]
    assert len({kept for kept, _ in boxes}) == 2
    assert "<li>dry</li>" in page
    swapped = replace(report(GOOD), steps=(replace(stages[0], steps=("two", "one")),))
    again = re.findall(r'data-keep="(\w+)"><span>(\w+)<', report_html(swapped))
    assert sorted(again) == sorted(boxes)


def test_taps_and_cutting_lists_stand_before_the_build_sheet() -> None:
    """Titles, rows and notes of the tables are there, and text in them is escaped."""
    table = Table(title="Volts", headings=("wire",), rows=(("B0 <x>",),), note="in order")
    page = report_html(
        replace(report(GOOD), balance_leads=table, cutting=(replace(table, title="Cuts"),))
    )
    places = [page.index(f">{word}</h") for word in ("Volts", "Cuts", "Build sheet")]
    assert places == sorted(places)
    assert page.count("B0 &lt;x&gt;") == 2 and page.count("in order") == 2


def test_readings_have_blanks_where_the_table_is_to_be_filled_in() -> None:
    """An empty cell is a blank to write into in such a table, and stays empty in others."""
    table = Table(title="Volts", headings=("lead", "measured"), rows=(("B0", ""),), note="")
    page = report_html(replace(report(GOOD), cutting=(table,)))
    assert 'aria-label="measured, B0"' not in page
    page = report_html(replace(report(GOOD), cutting=(replace(table, filled_in=True),)))
    assert 'aria-label="measured, B0"' in page


def test_drawings_share_one_scale_and_no_names() -> None:
    """Each takes room by its own width; patterns of one picture are not those of another."""
    rules: list[str] = []
    wide = SQUARE.replace("0 0 1 1", "0 0 3 1").replace("<path", '<pattern id="h"/><path')
    wide = wide.replace("<path d", '<path fill="url(#h)" d')
    figures = [Figure(svg=svg, caption="") for svg in (wide, wide.replace("0 0 3", "0 0 6"))]
    row = one_scale(figures, "faces", rules.append)
    assert [float(found) for found in re.findall(r"flex:([\d.]+) 1 0", "".join(rules))] == [3, 6]
    assert "--share:50.0000%" in rules[1] and "--share:100.0000%" in rules[2]
    for k in (0, 1):
        assert f'id="faces-{k}-h"' in row and f"url(#faces-{k}-h)" in row
    with pytest.raises(ValueError, match="no scale"):
        one_scale([Figure(svg="<svg/>", caption="")], "faces", rules.append)


def test_the_pack_file_stands_at_the_end() -> None:
    """As text, escaped, after the sources."""
    page = report_html(replace(report(GOOD), pack_file="name: pond-pump  # <pump>\n"))
    assert page.index("name: pond-pump  # &lt;pump&gt;") > page.index('<section id="sources"')
