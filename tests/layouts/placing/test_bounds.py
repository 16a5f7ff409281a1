"""Bounds hold for every placement, and are as tight as they claim."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from shapely import Point, box

from layouts.pack import Lattice
from layouts.placing.bounds import area_bound, bound_of, convex_bound
from layouts.placing.packings import best_known, most_in_circle, most_in_square
from layouts.placing.place import place_most
from layouts.placing.region import region_of
from tests.layouts.placing.shapes import PITCH_MM, REACH_MM, SET, ell


@pytest.mark.one_in(4)
@pytest.mark.parametrize("name", SET)
def test_no_lattice_beats_the_bound(name: str) -> None:
    """On every shape of the set, both lattices stay at or below it."""
    region = region_of(SET[name], reach_mm=REACH_MM)
    bound = bound_of(region, pitch_mm=PITCH_MM)
    for lattice in Lattice:
        placed = place_most(SET[name], pitch_mm=PITCH_MM, reach_mm=REACH_MM, lattice=lattice)
        assert placed.count <= bound.most
        assert (placed.bound, placed.bound_name) == (bound.most, bound.name)


def test_groemer_is_reached_by_a_hexagon_of_cells() -> None:
    """Hexagons of 1 + 3 k (k + 1) centres reach the bound of their hull exactly: none spare."""
    for k in (1, 2, 3, 6):
        corners = Point(0, 0).buffer(k, quad_segs=1)
        hexagon = type(corners)([(k * np.cos(a), k * np.sin(a)) for a in np.arange(6) * pi / 3])
        assert convex_bound(hexagon, 1.0) == pytest.approx(1 + 3 * k * (k + 1))


def test_groemer_on_a_point_and_a_line() -> None:
    """A point holds 1; a line of 3 pitches 4."""
    assert convex_bound(Point(3, 4), 1.0) == pytest.approx(1.0)
    assert convex_bound(box(0, 0, 3, 0), 1.0) == pytest.approx(4.0)


def test_area_bound_is_a_hexagon_a_cell_and_never_below_groemer_on_convex_shapes() -> None:
    """Formula on a disc, with the stated spare for chords; on boxes it is the looser one."""
    radius = 3.0
    exact = pi * (radius + 1 / sqrt(3)) ** 2 / (sqrt(3) / 2)
    assert exact <= area_bound(Point(0, 0).buffer(radius, quad_segs=200), 1.0) <= exact * 1.02
    assert area_bound(box(0, 0, 5, 4), 1.0) > convex_bound(box(0, 0, 5, 4), 1.0)


def test_cutting_an_outline_lowers_its_bound() -> None:
    """An L is bound by its two arms, not by its hull."""
    cavity = ell(300, 300, 60)
    region = region_of(cavity, reach_mm=REACH_MM)
    bound = bound_of(region, pitch_mm=PITCH_MM)
    assert bound.most < 0.6 * convex_bound(region.outer, PITCH_MM)
    placed = place_most(cavity, pitch_mm=PITCH_MM, reach_mm=REACH_MM, lattice=Lattice.HONEYCOMB)
    assert placed.count <= bound.most <= 1.4 * placed.count


def test_proven_packings_bound_circles_and_squares() -> None:
    """A circle of 3 radii holds 7 and one a little larger still 7; squares alike."""
    assert most_in_circle(1.0, pitch_mm=1.0) == 7
    assert most_in_circle(0.999, pitch_mm=1.0) == 5  # 6 and 7 both need 3 radii
    assert most_in_circle(1.15, pitch_mm=1.0) == 7
    assert most_in_square(2.0, pitch_mm=1.0) == 9
    assert most_in_square(1.999, pitch_mm=1.0) == 8
    assert most_in_circle(50.0, pitch_mm=1.0) is None
    nine = region_of(box(0, 0, 60, 60), reach_mm=10.0)
    assert bound_of(nine, pitch_mm=20.0).most == 9


def test_table_rises_and_every_row_is_read() -> None:
    """Both containers, in order, never smaller for more discs."""
    for container, count in (("circle", 20), ("square", 24)):
        rows = [one for one in best_known() if one.container == container]
        assert [one.count for one in rows] == list(range(1, count + 1))
        ratios = [one.ratio for one in rows]
        assert ratios == sorted(ratios)
