"""The picture of an enclosure with compartments in its space."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from xml.etree import ElementTree

import numpy as np
import pytest

from generators.drawings.enclosed_plan import enclosed_plan
from generators.result import enclosure_row
from layouts.planning.pack_plan import PackPlan, plan_pack
from tests.layouts.enclosures.fitted.planned import pack_of, planned

SVG = "{http://www.w3.org/2000/svg}"


@cache
def in_space() -> PackPlan:
    """The smaller pack in an L with a post in it."""
    ends = "from_mm: [20, 215, 0], to_mm: [20, 215, 60]"
    corners = "[[0, 0], [230, 0], [230, 190], [150, 190], [150, 240], [0, 240]]"
    return plan_pack(
        pack_of(
            "3S2P",
            f"space:\n  outline_mm: {corners}\n"
            f"  height_mm: 110\n  keep_out: [{{name: post, cylinder: {{{ends}, radius_mm: 5}}}}]\n",
        )
    )


def texts(svg: str) -> list[str]:
    """All words in a picture."""
    return [one.text or "" for one in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def bounds(svg: str, style: str) -> tuple[float, float, float, float]:
    """Of the paths with a style, y upwards."""
    found = [
        path.get("d", "")
        for path in ElementTree.fromstring(svg).iter(f"{SVG}path")
        if style in ElementTree.tostring(path, encoding="unicode")
    ]
    numbers = re.findall(r"(-?[\d.]+) (-?[\d.]+)", " ".join(found))
    x, y = np.array(numbers, dtype=np.float64).T
    return float(x.min()), float(-y.max()), float(x.max()), float(-y.min())


def test_without_a_space_it_is_the_packs_own_plan() -> None:
    """Cans, walls as large as they are, no hatching of a space."""
    plan = planned("4S3P")
    svg = enclosed_plan(plan)
    cans = list(ElementTree.fromstring(svg).iter(f"{SVG}circle"))
    assert len(cans) == 12
    assert bounds(svg, 'fill="#000"') == pytest.approx(plan.enclosure.shell.outer.bounds, abs=0.01)
    assert "hatched" not in " ".join(texts(svg))
    assert 'url(#wall)"' not in svg


@pytest.mark.slow
def test_in_a_space_walls_stand_as_posed_within_it() -> None:
    """The space's own outline, the walls within it by the gap at least, the post hatched."""
    plan = in_space()
    svg = enclosed_plan(plan)
    assert bounds(svg, 'stroke-width="0.6"') == pytest.approx((0, 0, 230, 240), abs=0.01)
    x0, y0, x1, y1 = bounds(svg, 'fill="#000"')
    wide, deep = np.ptp(np.array(plan.enclosure.shell.outer.bounds).reshape(2, 2), axis=0)
    assert sorted((x1 - x0, y1 - y0)) == pytest.approx(sorted((wide, deep)), abs=0.02)
    assert x0 > 0.4 and y0 > 0.4 and x1 < 229.6 and y1 < 239.6
    assert any("hatched" in line for line in texts(svg))


def test_compartments_are_named_or_left_out_where_small() -> None:
    """Each name stands as it is told in result.json."""
    plan = planned("4S3P")
    words = " ".join(texts(enclosed_plan(plan)))
    told = [one["name"] for one in enclosure_row(plan)["enclosure"]["compartments"]]
    assert {"protection board", "main fuse and cable glands", "charge port"} <= set(told)
    for name in ("protection board", "charge port"):
        assert all(word in words for word in name.split())


def test_what_result_json_tells_of_compartments() -> None:
    """Boxes from floor to rim in the pack's coordinates, the side of the gas, every outlet; nothing
    of an enclosure without compartments."""
    plan = planned("4S3P")
    row = enclosure_row(plan)["enclosure"]
    shell = plan.enclosure.shell
    for one in row["compartments"]:
        (x0, y0, z0), (x1, y1, z1) = one["box_mm"]
        assert x0 < x1 and y0 < y1
        assert (z0, z1) == (shell.z_floor_mm, shell.z_rim_mm)
    assert row["gas_side"] in {"+x", "-x", "+y", "-y"}
    assert {one["for"] for one in row["outlets"]} >= {"pack plus", "pack minus"}
    assert enclosure_row(replace(plan, enclosure_set=None)) == {}
