"""Plan and labels of sorted cells: all there, legible, nothing over another."""

from __future__ import annotations

import numpy as np
import pytest

from generators.drawings.cell_labels import label_plan, label_sheets
from generators.drawings.linework import Circles, Layer, LineSheet, Words
from generators.exports.paper import Paper
from generators.exports.tiled_pdf import FOOT_MM, pages_of
from generators.packfile.resolve import parse_pack
from layouts.planning.steps import laid_out
from tests.generators.packfile.files import PLAIN

CAN_MM = 18.4  # the smallest usual cell: the least room for words
LEAST_MM = 1.2  # height of letters that can be read at true size; judgement, no source


def words_of(sheet: LineSheet) -> list[Words]:
    """All words of a sheet."""
    return [mark for mark in sheet.marks if isinstance(mark, Words) and mark.text.strip()]


def overlaps(words: list[Words]) -> list[tuple[str, str]]:
    """Pairs of words whose boxes meet, capitals and digits alone: none reach below the line."""
    boxes = np.array([one.box_mm for one in words])
    boxes[:, 1] = [one.at_mm[1] for one in words]
    boxes[:, 3] = [one.at_mm[1] + 0.75 * one.size_mm for one in words]
    return [
        (words[i].text, words[k].text)
        for i in range(len(words))
        for k in range(i)
        if (np.minimum(boxes[i, 2:], boxes[k, 2:]) > np.maximum(boxes[i, :2], boxes[k, :2])).all()
    ]


@pytest.mark.parametrize("label", ["c{}", "LOT7-{:04d}-BLUE"])
def test_each_cell_has_its_label_group_and_site_within_its_ring(label: str) -> None:
    """Short labels and the longest ones; rings on positive upper ends."""
    layout = laid_out(parse_pack(PLAIN.encode(), "p.yaml").pack).cell_layout
    labels = [label.format(k) for k in range(40)]
    sheet = label_plan(layout, labels, can_mm=CAN_MM, legend=("ten groups",))
    words = words_of(sheet)
    assert min(one.size_mm for one in words) >= LEAST_MM
    assert overlaps(words) == []
    rings = [m for m in sheet.marks if isinstance(m, Circles) and m.layer is Layer.RING]
    assert len(rings) == int(layout.positive_up.sum())
    for k, (x, y) in enumerate(layout.xy_mm.tolist()):
        here = [one for one in words if np.hypot(one.at_mm[0] - x, one.at_mm[1] - y) < CAN_MM / 2]
        sign = "+" if layout.positive_up[k] else "\N{MINUS SIGN}"
        assert [one.text for one in here] == [f"{sign}{layout.group[k]}", labels[k], str(k + 1)]
        for one in here:
            x0, _, x1, _ = one.box_mm
            tall = max(abs(one.at_mm[1] - y), abs(one.at_mm[1] + 0.72 * one.size_mm - y))
            assert np.hypot((x1 - x0) / 2, tall) < CAN_MM / 2 * 0.9


@pytest.mark.parametrize("paper", list(Paper))
def test_labels_stand_in_the_order_of_the_sites_on_as_many_pages_as_they_need(paper: Paper) -> None:
    """No page is turned or shared, no label over another; the longest fit their boxes."""
    labels = [f"LOT7-{k:04d}-BLUE" for k in range(200)]
    room = paper.room_mm(foot_mm=FOOT_MM)
    sheets = label_sheets(labels, np.repeat(np.arange(1, 101), 2), room_mm=room)
    told = [one.text for sheet in sheets for one in words_of(sheet) if one.text.startswith("LOT7")]
    assert told == labels
    for sheet in sheets:
        assert overlaps(words_of(sheet)) == []
    pages = pages_of(sheets, paper)
    assert [page.placed[0].sheet.name for page in pages] == [one.name for one in sheets]
    assert all(len(page.placed) == 1 and not page.placed[0].turned for page in pages)


def test_a_label_says_where_its_cell_goes() -> None:
    """Group, site and which end is up."""
    sheet = label_sheets(["a", "b", "c"], np.array([1, 1, 2]), room_mm=(190.0, 267.0))[0]
    told = {one.text for one in words_of(sheet)}
    assert {"group 1, site 2, + up", "group 2, site 3, \N{MINUS SIGN} up"} <= told
