"""Gaps closed in plans and over heights, and plans taken from solids."""

from __future__ import annotations

import manifold3d
import pytest
import shapely

from generators.dummy.sections import (
    PlanLayer,
    closed,
    filled_gaps,
    levels_of,
    plan_at,
    polygons,
    prism,
    slabs_of,
    united,
)

ELL = shapely.Polygon([(0, 0), (40, 0), (40, 10), (10, 10), (10, 30), (0, 30)])


def pair(gap_mm: float) -> shapely.MultiPolygon:
    """Two blocks side by side."""
    return shapely.MultiPolygon(
        [shapely.box(0, 0, 10, 20), shapely.box(10 + gap_mm, 0, 20 + gap_mm, 20)]
    )


@pytest.mark.parametrize(("gap", "filled"), [(0.2, True), (2.9, True), (3.0, False), (5.0, False)])
def test_only_gaps_under_three_millimetres_are_closed(gap: float, filled: bool) -> None:
    """Two blocks become one where less than 3 mm lies between them, and stay as they are else."""
    after = closed(pair(gap))
    assert (len(polygons(after)) == 1) is filled
    added = after.area - pair(gap).area
    # at both mouths a disc of 3 mm dips in by up to half its width
    assert added == pytest.approx(20 * gap, abs=gap * 1.3 * 2) if filled else added < 1e-9
    assert after.within(pair(gap).convex_hull.buffer(1e-9))


def test_a_concave_corner_keeps_its_shape() -> None:
    """Closing is no hull and lays no fillet: an L stays an L to the last corner."""
    assert closed(ELL).symmetric_difference(ELL).area < 1e-9
    assert ELL.convex_hull.area > ELL.area + 200


def test_a_slot_and_a_small_hole_are_closed_and_a_large_hole_stays() -> None:
    """A slot 2 wide and a hole 2 wide go, a hole 5 wide stays."""
    plate = shapely.box(0, 0, 40, 40)
    slot, large = shapely.box(10, 20, 12, 40), shapely.Point(30, 10).buffer(2.5)
    small = shapely.Point(10, 8).buffer(1.0)
    after = closed(plate.difference(shapely.union_all([slot, large, small])))
    assert after.symmetric_difference(plate.difference(large)).area < 0.6


@pytest.mark.parametrize(("gap", "filled"), [(1.0, True), (3.0, False)])
def test_level_gaps_are_closed_over_all_slabs_they_run_through(gap: float, filled: bool) -> None:
    """Between two plates one above the other only a gap under 3 mm is filled, where both are."""
    low, high = shapely.box(0, 0, 20, 20), shapely.box(10, 0, 30, 20)
    post = shapely.box(12, 8, 16, 12)
    slabs = [
        PlanLayer(z0_mm=0, z1_mm=5, plan=low),
        PlanLayer(z0_mm=5, z1_mm=5 + gap / 2, plan=post),
        PlanLayer(z0_mm=5 + gap / 2, z1_mm=5 + gap, plan=post),
        PlanLayer(z0_mm=5 + gap, z1_mm=10, plan=high),
    ]
    added = united(prism(one.plan, one.z0_mm, one.z1_mm) for one in filled_gaps(slabs))
    expected = gap * (10 * 20 - 16) if filled else 0.0
    assert added.volume() == pytest.approx(expected, abs=0.02 * gap * 200)


def test_plans_of_a_solid_are_those_it_was_made_of() -> None:
    """Prisms give back their plans, holes and all, and their heights."""
    ring = ELL.difference(shapely.box(2, 2, 6, 6))
    solid = united([prism(ring, 0.0, 5.0), prism(ELL, 5.0, 8.0)])
    assert levels_of(solid) == pytest.approx([0.0, 5.0, 8.0])
    low, high = slabs_of(solid)
    assert low.plan.symmetric_difference(ring).area < 1e-9
    assert high.plan.symmetric_difference(ELL).area < 1e-9
    assert solid.volume() == pytest.approx(5 * ring.area + 3 * ELL.area)


def test_empty_shapes_give_empty_solids_and_plans() -> None:
    """Nothing in, nothing out, and no trouble."""
    assert prism(shapely.Polygon(), 0.0, 1.0).is_empty()
    assert prism(ELL, 1.0, 1.0).is_empty()
    assert united([]).is_empty()
    assert levels_of(manifold3d.Manifold()) == []
    assert plan_at(prism(ELL, 0.0, 1.0), 5.0).is_empty
