"""Random rectangles and circles, on a coarse grid so that they often coincide or touch."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import affinity

from generators.meshes.mesh import mesh
from layouts.slabs.faces import Plan
from layouts.slabs.planar import arrange
from layouts.slabs.profile import circle, moved, rectangle
from layouts.slabs.slabs import Slab, SolidError, build
from tests.generators.kernel.sound import assert_sound_mesh, assert_sound_solid

QUARTER_SEGMENTS = 512
FINE_CHORD_MM = 0.001  # the grid leaves gaps down to about 0.002 between shapes
# A regular polygon of 4 x 512 corners misses 1 - sin(t)/t of its circle, t = 2 pi / 2048.
CIRCLE_SHORT = 1 - math.sin(math.tau / (4 * QUARTER_SEGMENTS)) / (math.tau / (4 * QUARTER_SEGMENTS))

grid = st.integers(-6, 6)
size = st.integers(1, 6)
rectangles = st.tuples(grid, grid, size, size, st.sampled_from([0, 0, 0, 30, 45, 90]))
circles = st.tuples(grid, grid, size)
quick = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


def rectangle_loop(x, y, a, b, turn_deg):
    """Our rectangle, turned about its first corner."""
    return moved(rectangle(0, 0, a, b), x, y, math.radians(turn_deg))


def rectangle_polygon(x, y, a, b, turn_deg):
    """The same for shapely."""
    return affinity.translate(
        affinity.rotate(shapely.box(0, 0, a, b), turn_deg, origin=(0, 0)), x, y
    )


def region_area_mm2(plan, wanted):
    """Area where ``wanted`` holds, by Green's theorem over the pieces."""
    geometry = Plan(plan.vertices, plan.ends, plan.circles, plan.turns)
    sides = wanted(plan.left).astype(int) - wanted(plan.right).astype(int)
    return float(sides @ geometry.green_mm2), geometry, sides


@quick
@given(st.lists(rectangles, min_size=1, max_size=5), st.lists(circles, min_size=1, max_size=5))
def test_unions_have_the_areas_shapely_finds(boxes, discs):
    """Union, difference and overlap of two regions, within shapely's coarseness of circles."""
    plan = arrange(
        {
            "boxes": [rectangle_loop(*box) for box in boxes],
            "discs": [circle((x, y), r) for x, y, r in discs],
        }
    )
    ours = {
        "union": lambda m: m["boxes"] | m["discs"],
        "less": lambda m: m["boxes"] & ~m["discs"],
        "both": lambda m: m["boxes"] & m["discs"],
    }
    first = shapely.union_all([rectangle_polygon(*box) for box in boxes])
    second = shapely.union_all(
        [shapely.Point(x, y).buffer(r, quad_segs=QUARTER_SEGMENTS) for x, y, r in discs]
    )
    theirs = {"union": first | second, "less": first - second, "both": first & second}
    slack = sum(math.pi * r * r for _, _, r in discs) * CIRCLE_SHORT + 1e-5
    for name, wanted in ours.items():
        area, geometry, sides = region_area_mm2(plan, wanted)
        assert area == pytest.approx(theirs[name].area, abs=slack)
        edge = np.flatnonzero(sides)
        loops = geometry.chain(edge, sides[edge])
        assert sum(geometry.loop_area_mm2(loop) for loop in loops) == pytest.approx(area, abs=1e-9)
        for loop in loops:
            begins = [geometry.ends[piece, 0 if sign > 0 else 1] for piece, sign in loop]
            assert len(set(begins)) == len(begins)


@quick
@given(
    st.lists(rectangles, min_size=1, max_size=3),
    st.lists(st.tuples(grid, grid, st.sampled_from([0.7, 1.3, 2.9, 4.1])), min_size=1, max_size=3),
)
def test_random_steps_on_a_plate_are_sound_or_refused_for_touching(boxes, discs):
    """Two steps on a base: a sound solid and mesh; only mere touching may be refused."""
    regions = {
        "base": [rectangle(-20, -20, 20, 20, 3)],
        "boxes": [rectangle_loop(*box) for box in boxes],
        "discs": [circle((x, y), r) for x, y, r in discs],
    }
    slabs = [
        Slab(0, 1, lambda m: m["base"] & ~(m["boxes"] & m["discs"])),
        Slab(1, 2, lambda m: m["base"] & ~m["discs"]),
        Slab(2, 3, lambda m: m["boxes"] & ~m["discs"]),
    ]
    refused = None
    try:
        body = build(regions, slabs)
    except SolidError as error:
        refused = error.what
    if refused is None:
        assert_sound_solid(body, body.volume_mm3())
        assert_sound_mesh(mesh(body, FINE_CHORD_MM), body.volume_mm3())
    else:
        assert any(words in refused for words in ("only touch", "separate shells", "only meets"))
