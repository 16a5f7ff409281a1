"""What can't be one sound body is refused, with the place and the remedy."""

from __future__ import annotations

import math

import pytest

from layouts.slabs.profile import Line, circle, polygon, rectangle, reversed_loop
from layouts.slabs.slabs import Cone, Engraved, Slab, SolidError, build

PLATE = {"a": [rectangle(0, 0, 30, 20)], "h": [circle((10, 10), 4), circle((20, 10), 4)]}


def solid_plate(m):
    """Plate without holes."""
    return m["a"]


def holed_plate(m):
    """Plate with holes."""
    return m["a"] & ~m["h"]


def refused(said, regions, slabs, **more):
    """The call is refused with these words and a remedy."""
    with pytest.raises(SolidError, match=said) as caught:
        build(regions, slabs, **more)
    assert caught.value.remedy
    assert caught.value.what in str(caught.value)


def test_slabs_must_stack():
    """No slab, no height, a gap between two."""
    refused("no slab is given", PLATE, [])
    refused("slab 0 runs from 2 to 2 mm", PLATE, [Slab(2, 2, solid_plate)])
    refused("slab 1 begins at 2.1 mm", PLATE, [Slab(0, 2, solid_plate), Slab(2.1, 3, solid_plate)])


def test_material_must_be_there_and_bounded():
    """Nothing at all, or an unbounded half plane."""
    refused("no material in any slab", PLATE, [Slab(0, 1, lambda m: m["a"] & ~m["a"])])
    refused("slab 0 has material outside all regions", PLATE, [Slab(0, 1, lambda m: ~m["h"])])


def test_an_unknown_region_is_named():
    """The message names the existing regions."""
    refused("uses region 'b'; there are a, h", PLATE, [Slab(0, 1, lambda m: m["b"])])


def test_an_empty_region_holds_nothing():
    """A region without loops may be used."""
    body = build({**PLATE, "b": []}, [Slab(0, 1, lambda m: m["a"] & ~m["b"])])
    assert body.slab_areas == pytest.approx((600,))
    refused("no region has a loop", {"a": []}, [Slab(0, 1, solid_plate)])


def test_loops_must_close_and_not_cross_themselves():
    """An open loop, an empty one, a figure of eight, a size that is no number."""
    open_ = (Line((0, 0), (9, 0)), Line((9, 0), (9, 9)), Line((9, 9), (0, 1)))
    refused(r"open by 1 mm at \(0.000, 1.000\)", {"a": [open_]}, [Slab(0, 1, solid_plate)])
    refused("loop 0 has no segments", {"a": [()]}, [Slab(0, 1, solid_plate)])
    eight = polygon([(0, 0), (9, 9), (9, 0), (0, 9)])
    refused(
        r"crosses or touches itself at \(4.500, 4.500\)", {"a": [eight]}, [Slab(0, 1, solid_plate)]
    )
    endless = polygon([(0, 0), (math.nan, 0), (0, 9)])
    refused("not finite", {"a": [endless]}, [Slab(0, 1, solid_plate)])


def test_two_bodies_are_refused():
    """Two plates apart, and an unsupported block: the message says where one of them is."""
    two = {"a": [rectangle(0, 0, 30, 20), rectangle(40, 0, 45, 5)]}
    refused(r"2 separate shells .* at \(40.000, 0.000\)", two, [Slab(0, 1, solid_plate)])
    refused(
        "2 separate shells",
        PLATE,
        [Slab(0, 1, solid_plate), Slab(1, 2, lambda m: m["a"] & ~m["a"]), Slab(2, 3, solid_plate)],
    )


def test_a_closed_void_is_refused():
    """A hole closed above and below would be a second shell."""
    refused(
        "2 separate shells",
        {"a": PLATE["a"], "h": [circle((10, 10), 4)]},
        [Slab(0, 1, solid_plate), Slab(1, 2, holed_plate), Slab(2, 3, solid_plate)],
    )


def test_corners_that_only_touch_are_refused():
    """Two blocks that meet in an upright line, and in a level one."""
    touching = {"a": [rectangle(0, 0, 5, 5), rectangle(5, 5, 10, 10)]}
    refused(
        r"only touch at \(5.0000, 5.0000\) from z = 0 to 1", touching, [Slab(0, 1, solid_plate)]
    )
    stair = {"a": [rectangle(0, 0, 5, 5)], "b": [rectangle(5, 0, 10, 5)]}
    refused(
        "only meets in an edge", stair, [Slab(0, 1, lambda m: m["a"]), Slab(1, 2, lambda m: m["b"])]
    )


@pytest.mark.parametrize(
    ("cone", "slab", "said"),
    [
        (Cone((10, 10), 4, 4.5), None, "cones are given for slab None"),
        (Cone((10, 10), 4, 4.5), 7, "cones are given for slab 7"),
        (Cone((10, 10), 4, 4), 1, "goes from radius 4 to 4 mm"),
        (Cone((10, 10), 3.9, 4.5), 1, "finds no whole wall of radius 3.9"),
        (Cone((10, 10), 4, 4.5), 0, "has material above its rim|finds no whole wall"),
        (Cone((10, 10), 4, 11), 1, "runs into another wall"),
    ],
)
def test_cones_that_fit_nowhere_are_refused(cone, slab, said):
    """Slab, radii and surroundings of a cone are checked."""
    slabs = [Slab(0, 1, solid_plate), Slab(1, 2, holed_plate)]
    refused(said, PLATE, slabs, cones=[cone], cone_slab=slab)


def test_cones_that_meet_are_refused():
    """Neighbouring lead-ins must leave something between them; 2 mm of web allow 0.9 each."""
    slabs = [Slab(0, 1, solid_plate), Slab(1, 2, holed_plate)]
    fine = [Cone((10, 10), 4, 4.9), Cone((20, 10), 4, 4.9)]
    assert len(build(PLATE, slabs, cones=fine, cone_slab=1).cones) == 2
    wide = [Cone((10, 10), 4, 5.1), Cone((20, 10), 4, 5.1)]
    refused("reaches its neighbour", PLATE, slabs, cones=wide, cone_slab=1)


def test_a_cone_under_a_lid_is_refused():
    """Material above the rim would leave a face without a place."""
    slabs = [Slab(0, 1, holed_plate), Slab(1, 2, solid_plate)]
    refused(
        "has material above its rim",
        {"a": PLATE["a"], "h": [circle((10, 10), 4)]},
        slabs,
        cones=[Cone((10, 10), 4, 4.5)],
        cone_slab=0,
    )


@pytest.mark.parametrize(
    ("figure", "said"),
    [
        (Engraved([rectangle(1, 1, 4, 4)], 1.0), "sunk 1 mm into a slab of 1 mm"),
        (Engraved([rectangle(1, 1, 4, 4)], 0), "sunk 0 mm"),
        (Engraved([reversed_loop(rectangle(1, 1, 4, 4))], 0.4), "no area of its own"),
        (Engraved([rectangle(-1, 1, 4, 4)], 0.4), r"out of the lowest face at \("),
        (Engraved([rectangle(7, 9, 8, 11)], 0.4), "out of the lowest face"),
        (Engraved([rectangle(5, 5, 15, 15)], 0.4), "runs into something"),
        (Engraved([rectangle(1, 1, 4, 4), rectangle(3, 3, 5, 5)], 0.4), "runs into something"),
    ],
)
def test_sunk_figures_that_do_not_fit_are_refused(figure, said):
    """Too deep, inside out, outside, in a hole, round a hole, over another figure."""
    refused(said, PLATE, [Slab(0, 1, holed_plate)], engraved=[figure])


@pytest.mark.parametrize(
    ("figure", "material", "at"),
    [
        (circle((10, 15), 1), lambda m: m["a"] & ~m["h"] & ~m["d"], r"\(10.0000, 14.0000\)"),
        (circle((18, 10), 2), lambda m: m["a"] & ~m["h"] | m["d"], r"\(16.0000, 10.0000\)"),
        (circle((22, 10), 2), lambda m: m["a"] & ~m["h"] | m["d"], r"\(24.0000, 10.0000\)"),
        (rectangle(8, 2, 12, 6), lambda m: m["a"] & ~m["h"] & ~m["d"], r"\(10.0000, 6.0000\)"),
    ],
)
def test_curves_that_only_touch_are_refused(figure, material, at):
    """Circles tangent from outside and from inside (also at their seams), a line at a circle."""
    refused(rf"only touch at {at}", {**PLATE, "d": [figure]}, [Slab(0, 1, material)])


def test_a_slot_of_a_rectangle_and_two_circles_is_no_touch():
    """Lines that run into arcs by their ends share a vertex: a slot from three loops is sound."""
    slot = [rectangle(10, 6, 20, 14), circle((10, 10), 4), circle((20, 10), 4)]
    body = build({"a": PLATE["a"], "h": slot}, [Slab(0, 1, holed_plate)])
    assert body.slab_areas[0] == pytest.approx(600 - 80 - 16 * math.pi, rel=1e-12)
    assert len(body.ends) == 8
