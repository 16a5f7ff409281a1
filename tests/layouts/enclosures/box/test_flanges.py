"""Joining flanges of seams: outside all walls that these cross, facing each other, counted once."""

from __future__ import annotations

import itertools

import pytest
import shapely

from generators.packfile.resolve import parse_pack
from layouts.enclosures.box.seams import Seams, flanges
from layouts.parts.bed import usable_bed_mm
from layouts.parts.shell import Rect, box
from tests.layouts.enclosed import enclosed_pack

OUTER = Rect(x0=-60.0, y0=-90.0, x1=80.0, y1=70.0)
WALL_MM = 2.6


@pytest.mark.parametrize("part", ["tub", "lid"])
@pytest.mark.parametrize(("z0", "z1"), [(0.0, 30.0), (-4.0, 80.0), (5.0, 161.0), (0.0, 10.0)])
def test_flanges_stand_outside_the_walls_that_a_seam_crosses(
    part: str, z0: float, z1: float
) -> None:
    """One before and one behind the seam on either side: 10 mm out, 5 and 9 thick, as high as told;
    screws 8 mm off both ends and 70 apart at most, as few as that takes."""
    made = flanges(
        Seams(x=(10.0,), y=(-20.0,)), OUTER, part=part, wall_mm=WALL_MM, flange_z=(z0, z1)
    )
    assert len(made) == 8
    for before, behind in zip(made[::2], made[1::2], strict=True):
        assert (before.insert, behind.insert) == (False, True)
        assert before.axis == behind.axis
        for flange in (before, behind):
            assert (flange.z0_mm, flange.z1_mm) == (z0, z1)
            plan, plate = box(flange.rect), box(flange.plate)
            assert plan.area > 0.0 and plate.covers(plan) and not box(OUTER).covers(plan)
            across = flange.rect.size_mm[1 - flange.axis]
            assert across == pytest.approx(10.0 + WALL_MM / 2 if part == "tub" else 9.6)
            assert flange.plate.size_mm[1 - flange.axis] == pytest.approx(10.0 + WALL_MM / 2)
            thick = flange.rect.size_mm[flange.axis]
            assert thick == pytest.approx(9.0 if flange.insert else 5.0)
            heights = [screw.z_mm for screw in flange.screws]
            if z1 - z0 > 16.0:
                assert heights[0] == pytest.approx(z0 + 8.0)
                assert heights[-1] == pytest.approx(z1 - 8.0)
            assert all(0.0 < b - a <= 70.0 + 1e-9 for a, b in itertools.pairwise(heights))
            assert len(heights) == (1 if z1 - z0 <= 16.0 else 1 + -(-(z1 - z0 - 16.0) // 70.0))
            for screw in flange.screws:
                assert plan.buffer(0.2).covers(shapely.Point(screw.x_mm, screw.y_mm))
                assert not box(OUTER).covers(shapely.Point(screw.x_mm, screw.y_mm))
        assert shapely.intersection(box(before.rect), box(behind.rect)).area == 0.0
        assert box(before.rect).distance(box(behind.rect)) < 1e-9
    sides = [tuple(box(one.rect).centroid.coords[0]) for one in made[::2]]
    out = [(x < OUTER.x0, x > OUTER.x1, y < OUTER.y0, y > OUTER.y1) for x, y in sides]
    assert sorted(out.index(tuple(k == n for k in range(4))) for n in range(4)) == [0, 1, 2, 3]


def test_joining_flanges_beside_bosses_cost_no_second_seam() -> None:
    """3S11P of 32700: bosses stand out of the walls farther than flanges would leave room for, were
    they added to them: cut one way only, both parts in two, and every piece lies on the bed."""
    text = (
        "name: p\ncell: {format: '32700'}\nseries: 3\nparallel: 11\nenclosure: {style: tub}\n"
        "printer: {bed_mm: [220, 220, 250]}\n"
    )
    e = enclosed_pack(parse_pack(text.encode(), "p.yaml").pack)
    assert [part.name for part in e.enclosure.parts] == ["tub-1", "tub-2", "lid-1", "lid-2"]
    bed = sorted(usable_bed_mm(e.pack.printer))
    for part in e.enclosure.parts:
        (x0, y0, _), (x1, y1, _) = part.drawing.box_mm()
        assert all(a <= b for a, b in zip(sorted((x1 - x0, y1 - y0)), bed, strict=True))
