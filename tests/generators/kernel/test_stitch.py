"""The stitched solid against one that booleans have made from the same sizes."""

from __future__ import annotations

import math

import cadquery as cq
import pytest

from generators.kernel.stitch import solid
from layouts.slabs.profile import circle, polygon, rectangle
from layouts.slabs.slabs import Slab, build
from tests.generators.kernel.sound import assert_sound, assert_sound_solid, volume_mm3
from tests.layouts.slabs import plates


def cylinder(centre, diameter_mm, z0, z1):
    """Upright cylinder."""
    return cq.Solid.makeCylinder(diameter_mm / 2, z1 - z0, cq.Vector(*centre, z0))


def box_along(a, b, width_mm, z0, z1):
    """Box of a width along the line from a to b."""
    angle = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
    box = cq.Solid.makeBox(math.dist(a, b), width_mm, z1 - z0, cq.Vector(0, -width_mm / 2, z0))
    return box.rotate(cq.Vector(), cq.Vector(0, 0, 1), angle).moved(cq.Location(cq.Vector(*a, 0)))


def boolean_twin(columns, rows):
    """The plate of ``plates.py`` by booleans alone."""
    lay = plates.layout(columns, rows)
    x0, y0, x1, y1 = lay.box
    twin = (
        cq.Workplane()
        .box(x1 - x0, y1 - y0, plates.TOP_MM, centered=False)
        .translate((x0, y0, 0))
        .edges("|Z")
        .fillet(plates.CORNER_MM)
        .val()
    )
    top, lip, floor = plates.TOP_MM, plates.LIP_MM, plates.LIP_MM + plates.FLOOR_MM
    radius = plates.POCKET_MM / 2
    pockets, channels = [], []
    for cell in lay.cells:
        ringed = cell in lay.ringed
        pockets.append(cylinder(cell, plates.WINDOW_MM, -1, lip + 1))
        pockets.append(
            cylinder(cell, plates.POCKET_MM, lip - (plates.RING_MM if ringed else 0), top)
        )
        start = cq.Vector(*cell, top - plates.LEAD_DEEP_MM)
        pockets.append(
            cq.Solid.makeCone(radius, radius + plates.LEAD_IN_MM, plates.LEAD_DEEP_MM, start)
        )
    for a, b, width in lay.strips:
        channels.append(box_along(a, b, width, -1, floor + plates.BAR_UP_MM))
    bars = [box_along(a, b, w, floor, floor + plates.BAR_UP_MM) for a, b, w in lay.bars]
    cut = channels[0].fuse(*channels[1:]).cut(*bars)
    posts = [cylinder(p, plates.POST_MM, top - 1, plates.POST_TOP_MM) for p in lay.posts]
    screws = [cylinder(p, plates.SCREW_MM, -1, plates.POST_TOP_MM + 1) for p in lay.posts]
    return twin.cut(*cut.Solids(), *pockets).fuse(*posts).cut(*screws)


@pytest.mark.slow
def test_plate_equals_its_boolean_twin():
    """Plate with every feature: the twin's volume, and nothing left of either cut by the other."""
    stitched = cq.Solid(solid(plates.plate(2, 3)))
    twin = boolean_twin(2, 3)
    assert twin.isValid()
    assert stitched.Volume() == pytest.approx(twin.Volume(), rel=1e-9)
    for one, other in ((stitched, twin), (twin, stitched)):
        left_over = one.cut(other)
        assert sum(part.Volume() for part in left_over.Solids()) < 1e-6


@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (1, 3), (4, 1), (4, 4)])
def test_plates_of_all_shapes_are_sound(columns, rows):
    """One cell, one row, one column, a field: valid solid and mesh with the body's volume."""
    body = plates.plate(columns, rows)
    assert_sound(body, body.volume_mm3())


def test_a_boolean_after_stitching_works():
    """The kernel takes the solid as its own: a further cut takes what it should."""
    body = build({"a": [rectangle(0, 0, 20, 10, 2)]}, [Slab(0, 5, lambda m: m["a"])])
    plain = cq.Solid(solid(body))
    cut = plain.cut(cylinder((10, 5), 4, -1, 6))
    assert plain.Volume() - cut.Volume() == pytest.approx(20 * math.pi, rel=1e-9)


def test_points_that_nearly_meet_are_one_vertex():
    """Corners 4e-7 mm off a circle's crossing still give a valid solid."""
    off = 4e-7
    regions = {
        "a": [circle((0, 0), 10)],
        "b": [polygon([(10 - off, 0), (14, 0), (14, 12), (0, 10 + off)])],
    }
    body = build(regions, [Slab(0, 2, lambda m: m["a"] | m["b"])])
    # quadrilateral less the circle's segment over the chord from (10, 0) to (0, 10)
    more = 0.5 * (14 * 12 + 14 * 10 - 100) - (25 * math.pi - 50)
    assert body.volume_mm3() == pytest.approx(2 * (100 * math.pi + more), rel=1e-6)
    shape = assert_sound_solid(body, body.volume_mm3())
    assert volume_mm3(shape) == pytest.approx(2 * (100 * math.pi + more), rel=1e-6)
