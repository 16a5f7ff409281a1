"""Outlines of plates: what is left between holes, and the points that holes leave."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from layouts.plates.laying import _blunted
from layouts.plates.outline import NeckedShape, in_one_piece
from layouts.plates.sizes import LEAST_WIDE_MM
from tests.layouts.plates.joined import block_of
from tests.sampled import sampled

ENDS = np.array([[4.0, 10.0], [56.0, 10.0]])


@given(st.lists(st.tuples(st.floats(8.0, 52.0), st.floats(0.0, 20.0), st.floats(3.0, 6.0)),
                min_size=1, max_size=6))  # fmt: skip
def test_cut_by_cut_is_the_whole_shape_shrunk(holes: list[tuple[float, float, float]]) -> None:
    """Cut one at a time or all at once: the same core, within the chords of the arcs."""
    plate = shapely.box(0.0, 0.0, 60.0, 20.0)
    step = NeckedShape(plate, 3.0)
    for x, y, radius_mm in holes:
        step = step.without(shapely.Point(x, y).buffer(radius_mm, quad_segs=32))
    whole = NeckedShape(step.shape, 3.0)
    apart = shapely.symmetric_difference(step._core, whole._core)
    assert apart.buffer(-0.06).is_empty


def test_a_neck_is_wide_enough_or_is_none() -> None:
    """A cut across all but 3.1 mm leaves a neck of 3, not one of 3.2."""
    plate = shapely.box(0.0, 0.0, 60.0, 20.0)
    cut = shapely.box(28.0, 3.1, 32.0, 20.0)
    assert NeckedShape(plate, 3.0).without(cut).joins(ENDS)
    assert not NeckedShape(plate, 3.2).without(cut).joins(ENDS)
    assert not NeckedShape(plate, 3.0).without(shapely.box(28.0, 0.0, 32.0, 20.0)).joins(ENDS)


def test_a_hole_that_opens_into_a_slot_leaves_no_points() -> None:
    """Where a round hole just meets a slot, the two points between them are cut back."""
    before = shapely.box(0.0, 0.0, 60.0, 30.0).difference(shapely.box(20.0, 0.0, 40.0, 12.0))
    punched = before.difference(shapely.Point(30.0, 17.8).buffer(6.0, quad_segs=32))
    assert len(punched.interiors) == 0
    blunt = _blunted(before, punched, 1)
    assert blunt.difference(punched).area < 0.01  # chords at inner corners
    points = [part for part in shapely.get_parts(punched.difference(blunt)) if part.area > 0.05]
    assert len(points) == 2  # corners keep all but their rounding
    assert all(26.0 < part.centroid.x < 34.0 and 11.5 < part.centroid.y < 13.0 for part in points)
    alone = before.difference(shapely.Point(30.0, 22.0).buffer(4.0, quad_segs=32))
    assert _blunted(before, alone, 1) is alone


@pytest.mark.parametrize(("series", "parallel"), sampled([(3, 11), (2, 5)], lambda c: c[0] == 2))
def test_nothing_of_a_plate_is_narrower_than_it_may_be(series: int, parallel: int) -> None:
    """A pack whose holes open into slots: each plate shrunk by half the least width is whole, and
    grown again it is the plate but for its corners."""
    for plate in block_of(series, parallel, "honeycomb", "26650").interconnect.plates:
        half = LEAST_WIDE_MM / 2.0
        opened = plate.body.buffer(-half, quad_segs=32).buffer(half, quad_segs=32)
        left = plate.body.difference(opened)
        assert max((part.area for part in shapely.get_parts(left)), default=0.0) < 0.05
        assert in_one_piece(plate.body, np.array([plate.body.representative_point().coords[0]]),
                            LEAST_WIDE_MM)  # fmt: skip
