"""The planner's answers to the page, asked without a server."""

from __future__ import annotations

import math
from typing import Any

import pytest

from generators.packfile.examples import FIRST, example_text
from generators.page.planning import _quick, _whole
from generators.page.question import Question
from layouts.formats import cell_formats

SMALL = 'name: small\ncell: {format: "18650"}\nseries: 2\nparallel: 1\n'
ROOMY = "space: {box_mm: [260, 200, 110]}\n"
BOLTED = (
    "space:\n  box_mm: [170, 130, 110]\n  keep_out:\n"
    "    - {name: bolt, cylinder: {from_mm: [85, 65, 0], to_mm: [85, 65, 110], radius_mm: 9}}\n"
)


def stages(text: str, **more: Any) -> dict[str, dict[str, Any]]:
    """The quick answers to a text."""
    question = Question(sheet="one", number=1, text=text, path="sheet.yaml", **more)
    return dict(_quick(question, {}))


def test_a_space_alone_tells_what_goes_in() -> None:
    """Whatever else is lacking or wrong; never more cells than their circles have area for."""
    told = stages("name: 3\nspace: {box_mm: [300, 200, 80]}\n")
    assert {one["field"] for one in told["faults"]["faults"]} >= {"cell", "series", "parallel"}
    assert told["space"]["free"] == [[[0, 0], [300, 0], [300, 200], [0, 200]]] or sorted(
        told["space"]["free"][0]
    ) == [[0, 0], [0, 200], [300, 0], [300, 200]]
    rows = told["most"]["rows"]
    assert [row["format"] for row in rows] == list(cell_formats())
    for row in rows:
        # plane geometry: the densest packing of circles covers pi/sqrt(12) of the plane
        # (Fejes Toth, 1942, from memory); those at a wall stand out by no more than a radius
        radius = row["diameter_mm"] / 2
        most = (300 * 200) * math.pi / math.sqrt(12) / (math.pi * radius**2)
        assert 0 < row["count"] < most or row["too_low"]
    low = stages("space: {box_mm: [300, 200, 60]}\n")["most"]["rows"]
    assert all(row["too_low"] and row["count"] == 0 for row in low)


def test_cells_follow_and_faults_name_their_field() -> None:
    """As many as the file says, half of them turned over; a wrong value names its key."""
    told = stages(SMALL.replace("parallel: 1", "parallel: 3") + ROOMY)
    cells = told["cells"]["cells"]
    assert len(cells) == 6 and {group for _, _, group, _ in cells} == {1, 2}
    assert sum(up for *_, up in cells) == 3
    told = stages(example_text(FIRST).replace("wire_mm2: 10 ", "wire_mm2: thick "))
    assert [one["field"] for one in told["faults"]["faults"]] == ["leads.wire_mm2"]
    assert "space" in told and "cells" not in told
    told = stages(SMALL + "space: {box_mm: [300, 5, 110]}\n")
    assert told["space_faults"]["faults"][0]["field"].startswith("space.box_mm")


def test_the_gap_follows_a_wall_that_is_dragged() -> None:
    """A box of 100 x 60 in one of 140 x 100 has 20 mm at each side; in a lower one it is too high
    by what is lacking."""
    pieces = [[[[-50, -30], [50, -30], [50, 30], [-50, 30]], 0.0, 80.0]]
    for box, gap, over in (
        ([140, 100, 90], 20.0, 10.0), ([110, 100, 90], 5.0, 10.0), ([140, 100, 70], None, -10.0),
        ([90, 100, 90], None, 10.0),
    ):  # fmt: skip
        moving = {"space": {"box_mm": box}, "pieces": pieces, "side": "+x"}
        stands = stages("", moving=moving)["gap"]["stands"]
        assert stands["over"] == over
        assert stands["gap"] == (None if gap is None else pytest.approx(gap, abs=0.1))


@pytest.mark.slow
def test_a_bolt_under_the_pack_fails_the_verdict() -> None:
    """The same pack goes in where there is room; its whole answer comes in stages."""
    for space, fails in ((ROOMY, False), (BOLTED, True)):
        seen = []
        failed: set[str] = set()
        text = SMALL + space + "enclosure: {style: tub}\n"
        for stage, what in _whole(Question(sheet="one", number=1, text=text, path="sheet.yaml")):
            seen.append(stage)
            if stage == "checks":
                failed = {row["id"] for row in what["failed"]}
                break
        assert [one for one in seen if one != "at"] == ["faces", "outside", "checks"]
        assert any("space" in one for one in failed) is fails
