"""Pictures of shorts: only where a check fails, both parts and the figures in them."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import pytest
import shapely

from generators.drawings.shorts import short_pictures
from layouts.shorts.checks import failing_spots, short_checks
from layouts.shorts.values import Kind
from tests.layouts.shorts.seeded import FAULTS, Fault, Plan, judged, sound_plan


def pictures(plan: Plan) -> dict[str, str]:
    """Drawn from the plan's own report."""
    return short_pictures(plan.pack, plan.cell_layout, plan.interconnect, judged(plan))


def words(svg: str) -> str:
    """All text of a picture, one blank between lines."""
    root = ElementTree.fromstring(svg)
    return " ".join(text.text or "" for text in root.iter("{http://www.w3.org/2000/svg}text"))


def test_a_sound_pack_has_no_picture() -> None:
    """Nothing to show."""
    assert pictures(sound_plan()) == {}


@pytest.mark.one_in(4)
@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_each_failing_check_has_its_picture(fault: Fault) -> None:
    """Well formed, black and white, with names, voltage and required distance; twice the same."""
    plan = fault.put_in(sound_plan(*fault.packs))
    report = judged(plan)
    drawn = pictures(plan)
    failed = [check for check in short_checks(report) if not check.holds]
    assert len(drawn) == len(failed) > 0
    assert drawn == pictures(plan)
    for spot in failing_spots(report):
        svg = drawn[spot.kind.value]
        told = words(svg)
        assert all(part in told for part in spot.parts)
        assert ("mirrored: seen from below" in told) is (spot.face.value == "lower")
        if spot.volts:
            assert f"{spot.volts:.1f} V" in told
        if spot.volts and spot.gap_mm != spot.need_mm:
            asked = (
                "beyond the table" if spot.need_mm is None else f"required: {spot.need_mm:.2f} mm"
            )
            assert asked in told
        colours = set(re.findall(r"#[0-9a-f]{3,6}", svg))
        assert all(len(set(colour[1:])) == 1 for colour in colours)


def test_the_gap_is_dimensioned() -> None:
    """The figure beside the line is the distance that is drawn."""
    fault = next(fault for fault in FAULTS if fault.name == "screw beside a strip")
    plan = fault.put_in(sound_plan(*fault.packs))
    spot = judged(plan).metal
    assert spot is not None and 0.0 < spot.gap_mm < 0.8
    assert f"{spot.gap_mm:.2f}" in words(pictures(plan)["metal"]).split()


def test_a_plate_with_holes_is_drawn_with_them() -> None:
    """What lies too near is a cut sheet: its hatching leaves out its holes."""
    plan = sound_plan()
    spot = judged(plan).ring
    sheet = shapely.box(-30.0, -30.0, 30.0, 30.0).difference(
        shapely.union_all([shapely.Point(x, 0.0).buffer(3.0) for x in (-4.0, 4.0)])
    )
    shifted = shapely.transform(sheet, lambda xy: xy + spot.ends_mm[0])
    near = replace(
        spot, kind=Kind.STRIPS, shapes=(shifted, spot.shapes[1]), gap_mm=0.1, need_mm=0.8
    )
    report = replace(judged(plan), strips=near)
    (drawn,) = short_pictures(plan.pack, plan.cell_layout, plan.interconnect, report).values()
    hatched = re.findall(r'<path d="([^"]*)" fill="url\(#\w+-a\)" fill-rule="evenodd"', drawn)
    assert [path.count("M") for path in hatched] == [3]  # the rim and two holes
