"""Turns and shifts of a plan in a free area, against a search without convolution."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from scipy.spatial.distance import cdist
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.poses import RASTER_MM, plan_poses, slid

PLAN = shapely.Polygon([(0, 0), (24, 0), (24, 9), (11, 9), (11, 16), (0, 16)])
AREAS = {
    "box": shapely.box(-12, -9, 45, 32),
    "L": shapely.box(0, 0, 60, 30).union(shapely.box(0, 0, 28, 62)),
    "cut": shapely.box(-30, -20, 30, 25).difference(shapely.Point(22, 16).buffer(14)),
    "hole": shapely.box(0, 0, 66, 40).difference(shapely.box(30, 15, 36, 22)),
    "slanted": rotate(shapely.box(0, 0, 52, 37), 23, origin=(0, 0)),
    "two": shapely.box(0, 0, 30, 22).union(shapely.box(40, 5, 80, 35)),
}


def rooms_of(free: BaseGeometry, plan: BaseGeometry) -> tuple[NDArray[np.float64], BaseGeometry]:
    """(n, 3) shifts with which the plan lies in the free area, and how far each is from one with
    which it does not; the points of all of these others."""
    x0, y0, x1, y1 = free.bounds
    a0, b0, a1, b1 = plan.bounds
    xs = np.arange(x0 - a0 - 2.0, x1 - a1 + 2.0, RASTER_MM)
    ys = np.arange(y0 - b0 - 2.0, y1 - b1 + 2.0, RASTER_MM)
    shifts = np.array([(x, y) for x in xs for y in ys])
    shapely.prepare(free)
    inside = np.array([free.contains(translate(plan, *shift)) for shift in shifts.tolist()])
    away = shifts[~inside]
    room = cdist(shifts[inside], away).min(axis=1)
    return np.column_stack([shifts[inside], room]), shapely.MultiPoint(away)


@pytest.mark.parametrize("name", AREAS)
def test_slid_has_the_most_room(name: str) -> None:
    """It lies within the area, and no shift has more room than the one found by over a step."""
    free = AREAS[name]
    shift = slid(free, PLAN)
    assert shift is not None
    assert free.contains(translate(PLAN, *shift))
    rooms, away = rooms_of(free, PLAN)
    assert shapely.Point(shift).distance(away) > rooms[:, 2].max() - 1.5 * RASTER_MM


def test_slid_finds_nothing_in_an_area_too_small() -> None:
    """Too short, too narrow, or large enough with something in its middle."""
    assert slid(shapely.box(0, 0, 23, 40), PLAN) is None
    assert slid(shapely.box(0, 0, 60, 15), PLAN) is None
    assert slid(shapely.box(0, 0, 10, 10), PLAN) is None
    middle = shapely.box(0, 0, 40, 30).difference(shapely.box(18, 4, 22, 26))
    assert slid(middle, PLAN) is None
    assert slid(shapely.box(0, 0, 26, 18), PLAN) is not None


def test_slid_is_exact() -> None:
    """A peg smaller than the raster's border cells in an area just large enough: no way in."""
    tight = shapely.box(-0.2, -0.2, 24.2, 16.2)
    shift = slid(tight, PLAN)
    assert shift is None or tight.contains(translate(PLAN, *shift))
    roomy = shapely.box(-0.6, -0.6, 24.6, 16.6)
    assert slid(roomy, PLAN) is not None
    assert slid(roomy.difference(shapely.box(5.0, 5.0, 5.9, 5.9)), PLAN) is None


def test_slid_centres_a_plan_between_walls() -> None:
    """A box in a box stands in its middle."""
    shift = slid(shapely.box(0, 0, 50, 30), shapely.box(100, 100, 130, 110))
    assert shift is not None
    assert shift[1] == pytest.approx(-90.0, abs=RASTER_MM)
    assert -92.0 < shift[0] < -88.0


@pytest.mark.parametrize("name", AREAS)
def test_poses_lie_in_the_area_and_spread_over_it(name: str) -> None:
    """Turned and moved in the space, or still in the space seen from the pack: the plan lies in it
    but for cells of its border. Every turn with which there is room is there, up to the count
    asked for."""
    free = AREAS[name]
    turns = (0, 90, 180, 270)
    poses = list(plan_poses(free, PLAN, turns, 3))
    for pose in poses:
        moved = translate(rotate(PLAN, pose.turn_deg, origin=(0, 0)), *pose.shift_mm)
        for plan, area in ((moved, free), (PLAN, pose.free)):
            assert plan.difference(area.buffer(2.5 * RASTER_MM)).area < 1e-9
        back = rotate(pose.free, pose.turn_deg, origin=(0, 0))
        assert translate(back, *pose.shift_mm).symmetric_difference(free).area < 1e-6
    for turn in turns:
        count = sum(pose.turn_deg == turn for pose in poses)
        roomy = slid(free, rotate(PLAN, turn, origin=(0, 0)).buffer(RASTER_MM)) is not None
        assert count <= 3 and (count > 0 or not roomy)


def test_poses_only_with_turns_that_fit() -> None:
    """A long plan in an area that is long the other way; in one that is too small none."""
    plan, free = shapely.box(0, 0, 50, 10), shapely.box(200, 0, 216, 60)
    assert {pose.turn_deg for pose in plan_poses(free, plan, (0, 90, 180, 270), 4)} == {90, 270}
    assert not list(plan_poses(shapely.box(0, 0, 40, 40), plan, (0, 90), 4))


def test_few_poses_are_the_extremes_and_the_middle() -> None:
    """A plan free to move by 40 and 20: middle and far corners."""
    plan, free = shapely.box(0, 0, 20, 20), shapely.box(0, 0, 60, 40)
    shifts = np.array([pose.shift_mm for pose in plan_poses(free, plan, (0,), 9)])
    assert len(shifts) == len(np.unique(shifts, axis=0)) <= 9
    for x, y in ((20, 10), (0, 0), (40, 0), (0, 20), (40, 20)):
        assert np.hypot(*(shifts - (x, y)).T).min() < 3.0
