"""Turns and shifts of a plan in a free area, against a search without convolution."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from scipy.spatial.distance import cdist
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.poses import MOST_SHIFTS, RASTER_MM, shift_raster, slid
from layouts.parts.shell import Rect, box

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
def test_shifts_are_those_with_which_a_plan_lies_in_the_area(name: str) -> None:
    """Each of the raster's shifts against the exact answer: the plan lies in the area but for
    points of its border, and none is missing with which it lies in it by more than a step."""
    free = AREAS[name]
    raster = shift_raster(free, PLAN)
    assert raster is not None and raster.step_mm == RASTER_MM
    wide, narrow = free.buffer(1.5 * RASTER_MM), free.buffer(-RASTER_MM)
    for j, i in np.ndindex(*raster.whole.shape):
        moved = translate(PLAN, raster.x_mm[i], raster.y_mm[j])
        assert raster.whole[j, i] or not narrow.contains(moved)
        assert not raster.whole[j, i] or moved.difference(wide).area < 3.0


@pytest.mark.parametrize("name", AREAS)
@pytest.mark.parametrize("at_mm", [(3.0, 2.0), (-8.3, 12.6), (20.2, -9.0)])
def test_shifts_that_keep_a_rectangle_in_the_area(name: str, at_mm: tuple[float, float]) -> None:
    """The same for a rectangle of the plan at any place beside it, grown by 1.2."""
    free = AREAS[name]
    raster = shift_raster(free, PLAN)
    assert raster is not None
    x, y = at_mm
    rect = Rect(x0=x, y0=y, x1=x + 13.3, y1=y + 7.9)
    keeps = raster.keeps(rect, 1.2)
    assert keeps.shape == raster.whole.shape
    wide, narrow = free.buffer(1.5 * RASTER_MM), free.buffer(-RASTER_MM)
    for j, i in np.ndindex(*keeps.shape):
        moved = translate(box(rect.grown(1.2)), raster.x_mm[i], raster.y_mm[j])
        assert keeps[j, i] or not narrow.contains(moved)
        # corners that jut out between the raster's points
        assert not keeps[j, i] or moved.difference(wide).area < 3.0


def test_no_shift_where_the_area_is_too_small() -> None:
    """A long plan in an area that is long the other way, in one too small, in none."""
    plan = shapely.box(0, 0, 50, 10)
    assert shift_raster(shapely.box(200, 0, 216, 60), plan) is None
    assert shift_raster(shapely.box(0, 0, 40, 40), plan) is None
    assert shift_raster(shapely.Polygon(), plan) is None
    assert shift_raster(shapely.box(200, 0, 260, 16), plan) is not None


def test_a_wide_space_gets_a_coarse_raster() -> None:
    """No more shifts than can be searched; those of a plan free to move by 900 and 500 still reach
    from end to end."""
    raster = shift_raster(shapely.box(0, 0, 1000, 600), shapely.box(0, 0, 100, 100))
    assert raster is not None and raster.step_mm > RASTER_MM
    assert raster.whole.size < 2 * MOST_SHIFTS
    j, i = np.nonzero(raster.whole)
    assert np.ptp(raster.x_mm[i]) == pytest.approx(900.0, abs=2 * raster.step_mm)
    assert np.ptp(raster.y_mm[j]) == pytest.approx(500.0, abs=2 * raster.step_mm)


def test_the_roomiest_shift_of_a_mask_is_its_middle() -> None:
    """A plan free to move by 40 and 20 stands in the middle of its narrow way."""
    raster = shift_raster(shapely.box(0, 0, 60, 40), shapely.box(0, 0, 20, 20))
    assert raster is not None
    x, y = raster.roomiest_mm(raster.whole)
    assert y == pytest.approx(10.0, abs=RASTER_MM) and 8.0 <= x <= 32.0
