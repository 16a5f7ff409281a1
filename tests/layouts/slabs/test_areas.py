"""Closed areas against cases known by other ways: symmetry, sums, inscribed and fine polygons."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from layouts.holders.outline import Outline, OutlineArc
from layouts.slabs.areas import (
    edges_of,
    polygon_disc_area_mm2,
    polygon_discs_area_mm2,
    polygon_outline_area_mm2,
    polygon_sector_area_mm2,
    segment_area_mm2,
    union_of_quads,
)
from tests.oracles.outline_area import outline_area_mm2

EXACT_MM2 = 1e-12 * 100  # relative 1e-12 on areas of some 100 mm2


def fine_disc(x: float, y: float, r: float, n: int = 20_000) -> shapely.Polygon:
    """A polygon of n corners with the same area as the disc: an approximate twin."""
    a = np.arange(n) * math.tau / n
    r = r * math.sqrt(math.tau / n / math.sin(math.tau / n))
    return shapely.Polygon(np.c_[x + r * np.cos(a), y + r * np.sin(a)])


def test_polygon_that_holds_the_disc_shares_all_of_it():
    """A disc within a polygon is counted whole."""
    assert polygon_disc_area_mm2(shapely.box(-5, -5, 9, 7), (1.0, 1.0), 2.0) == pytest.approx(
        math.pi * 4, abs=EXACT_MM2
    )


def test_polygon_within_the_disc_shares_its_own_area():
    """A polygon within a disc is counted whole, hole taken off."""
    ring = shapely.box(-1, -1, 1, 1).difference(shapely.box(-0.5, -0.5, 0.2, 0.5))
    assert polygon_disc_area_mm2(ring, (0.2, 0.1), 3.0) == pytest.approx(4 - 0.7, abs=EXACT_MM2)


def test_far_polygon_and_empty_shape_share_nothing():
    """Disc beside the polygon: 0; an empty polygon: 0."""
    assert polygon_disc_area_mm2(shapely.box(5, 5, 6, 6), (0.0, 0.0), 2.0) == pytest.approx(
        0.0, abs=EXACT_MM2
    )
    assert polygon_disc_area_mm2(shapely.Polygon(), (0.0, 0.0), 2.0) == 0.0


def test_half_plane_leaves_the_segment():
    """A polygon edge that cuts a disc leaves the segment of plane geometry."""
    r, d = 10.775, 3.2
    shared = polygon_disc_area_mm2(shapely.box(d, -50, 60, 50), (0.0, 0.0), r)
    assert shared == pytest.approx(segment_area_mm2(r, d), abs=EXACT_MM2)
    other = polygon_disc_area_mm2(shapely.box(-60, -50, d, 50), (0.0, 0.0), r)
    assert shared + other == pytest.approx(math.pi * r * r, abs=EXACT_MM2)


@pytest.mark.parametrize("seed", range(6))
def test_area_shared_with_a_disc_is_that_of_a_fine_polygon(seed):
    """Random stars against a disc of 20,000 corners."""
    rng = np.random.default_rng(seed)
    a = np.sort(rng.uniform(0, math.tau, 9))
    star = shapely.Polygon(np.c_[np.cos(a), np.sin(a)] * rng.uniform(2, 9, (9, 1)))
    x, y, r = rng.uniform(-3, 3), rng.uniform(-3, 3), rng.uniform(2, 6)
    shared = polygon_disc_area_mm2(star, (x, y), r)
    assert shared == pytest.approx(star.intersection(fine_disc(x, y, r)).area, abs=1e-5)


def test_discs_of_own_radii_are_the_single_ones():
    """Many discs at once give the areas of each alone."""
    strip = union_of_quads(np.array([[(-9, -3), (30, -3), (30, 3), (-9, 3)]], dtype=float))
    centres = [(0.0, 0.0), (11.5, 2.0), (40.0, 0.0)]
    radii = np.array([8.25, 10.775, 9.0])
    many = polygon_discs_area_mm2(strip, centres, radii)
    alone = [polygon_disc_area_mm2(strip, c, r) for c, r in zip(centres, radii, strict=True)]
    assert many == pytest.approx(alone, abs=EXACT_MM2)
    assert many[2] == pytest.approx(0.0, abs=EXACT_MM2)


def test_strip_through_the_centre_has_the_closed_form():
    """A band of half width h through the centre: 2 h sqrt(r2-h2) + 2 r2 asin(h/r)."""
    r, h = 8.25, 3.25
    band = 2 * h * math.sqrt(r * r - h * h) + 2 * r * r * math.asin(h / r)
    assert polygon_disc_area_mm2(shapely.box(-99, -h, 99, h), (0, 0), r) == pytest.approx(
        band, abs=EXACT_MM2
    )


@pytest.mark.parametrize("sweep", [0.3, 1.5, 3.0, 4.4, 6.0, math.tau, -2.5])
def test_sectors_of_a_whole_plane_have_their_own_area(sweep):
    """A sector within the polygon is half r squared times its sweep, either way round."""
    area = polygon_sector_area_mm2(shapely.box(-50, -50, 50, 50), (1, 2), 7.0, 0.4, sweep)
    assert area == pytest.approx(0.5 * 49 * abs(sweep), abs=EXACT_MM2)


@pytest.mark.parametrize("centre", [(28.3, -14.150000000000002), (0.1, 0.7), (-33.3, 1e-7)])
def test_corner_at_the_centre_is_safe(centre):
    """Shapes with a corner in the disc's centre, give or take float noise, keep their area."""
    x, y = centre
    r = 15.55
    for k in range(200):
        a, b = 0.031 * k, 0.031 * k + 1.2
        tip = (x + 1e-15 * (k % 7 - 3), y + 1e-15 * (k % 5 - 2))
        wedge = shapely.Polygon(
            [
                tip,
                (x + r * math.cos(a), y + r * math.sin(a)),
                (x + r * math.cos(b), y + r * math.sin(b)),
            ]
        )
        assert polygon_disc_area_mm2(wedge, centre, r) == pytest.approx(wedge.area, abs=1e-11)
        plane = shapely.box(-99, -99, 99, 99)
        boxed = shapely.intersection(shapely.box(x - r, y - r, x + r, y + r), plane)
        area = polygon_sector_area_mm2(boxed, centre, r, a, b - a)
        assert area == pytest.approx(0.5 * r * r * 1.2, abs=1e-10)


def test_sectors_add_up_to_the_disc():
    """Sectors that fill a turn share together what the disc shares."""
    shape = shapely.Polygon([(-6, -2), (9, -3), (4, 1.5), (2, 8)])
    cuts = [0.2, 1.1, 2.9, 3.3, 5.8]
    parts = [
        polygon_sector_area_mm2(shape, (0.5, 0.2), 4.0, a, (b - a) % math.tau)
        for a, b in zip(cuts, cuts[1:] + cuts[:1], strict=True)
    ]
    assert sum(parts) == pytest.approx(polygon_disc_area_mm2(shape, (0.5, 0.2), 4.0), abs=1e-11)


def test_edges_keep_the_inside_on_the_left():
    """Both ways round and holes: the edges' shoelace sum is the shape's area."""
    shape = shapely.Polygon([(0, 0), (0, 9), (9, 9), (9, 0)], [[(1, 1), (2, 1), (2, 2), (1, 2)]])
    e = edges_of(shapely.MultiPolygon([shape, shapely.box(20, 0, 21, 3)]))
    twice = e[:, 0] * e[:, 3] - e[:, 2] * e[:, 1]
    assert twice.sum() / 2 == pytest.approx(81 - 1 + 3, abs=EXACT_MM2)
    assert edges_of(shapely.Point(1, 1)).shape == (0, 4)


def test_doubled_corners_do_no_harm():
    """A corner given twice makes no edge and no NaN."""
    shape = shapely.Polygon([(-9, -9), (9, -9), (9, -9), (9, 9), (-9, 9), (-9, 9)])
    assert len(edges_of(shape)) == 4
    assert polygon_disc_area_mm2(shape, (0.0, 0.0), 4.0) == pytest.approx(16 * math.pi)


def chain(centres: list[tuple[float, float]], radius: float, ball: float) -> Outline:
    """Discs in a closed ring, a ball in each gap between consecutive ones (ccw), by hand."""
    n = len(centres)
    balls = []
    for (x0, y0), (x1, y1) in zip(centres, centres[1:] + centres[:1], strict=True):
        d = math.hypot(x1 - x0, y1 - y0)
        h = math.sqrt((radius + ball) ** 2 - d * d / 4)
        balls.append(((x0 + x1) / 2 + h * (y1 - y0) / d, (y0 + y1) / 2 - h * (x1 - x0) / d))
    arcs = []
    for i, (x, y) in enumerate(centres):
        before, after = balls[i - 1], balls[i]
        a = math.atan2(before[1] - y, before[0] - x)
        sweep = (math.atan2(after[1] - y, after[0] - x) - a) % math.tau
        arcs.append(
            OutlineArc(centre_mm=(x, y), radius_mm=radius, start_rad=a, sweep_rad=sweep, disc=i)
        )
        bx, by = after
        nx, ny = centres[(i + 1) % n]
        a = math.atan2(y - by, x - bx)
        sweep = -((a - math.atan2(ny - by, nx - bx)) % math.tau)
        arcs.append(
            OutlineArc(centre_mm=after, radius_mm=ball, start_rad=a, sweep_rad=sweep, disc=-1)
        )
    return Outline(arcs=tuple(arcs), seats=(), discs=tuple((x, y, radius) for x, y in centres))


def walk(outline: Outline, n: int = 4000) -> shapely.Polygon:
    """The outline as a fine polygon."""
    points = []
    for arc in outline.arcs:
        a = arc.start_rad + arc.sweep_rad * np.arange(n) / n
        points.append(
            np.c_[
                arc.centre_mm[0] + arc.radius_mm * np.cos(a),
                arc.centre_mm[1] + arc.radius_mm * np.sin(a),
            ]
        )
    return shapely.Polygon(np.vstack(points))


TRIANGLE = [(0.0, 0.0), (23.0, 0.0), (11.5, 19.9)]
ROW = [(0.0, 0.0), (23.0, 0.0), (46.0, 0.0), (23.0, 0.0)]  # a single row: there and back


@pytest.mark.parametrize("centres", [TRIANGLE, ROW], ids=["triangle", "row"])
def test_outline_area_is_that_of_a_fine_walk(centres):
    """Centres' polygon and sectors give the area of the walked outline."""
    outline = chain(centres, 12.975, 4.8)
    assert outline_area_mm2(outline) == pytest.approx(walk(outline).area, rel=1e-6)


@pytest.mark.parametrize("centres", [TRIANGLE, ROW], ids=["triangle", "row"])
def test_plane_within_an_outline_is_the_outline(centres):
    """A polygon round everything shares the outline's whole area; one far away nothing."""
    outline = chain(centres, 12.975, 4.8)
    whole = polygon_outline_area_mm2(shapely.box(-99, -99, 99, 99), outline)
    assert whole == pytest.approx(outline_area_mm2(outline), rel=1e-13)
    far = polygon_outline_area_mm2(shapely.box(200, 200, 210, 210), outline)
    assert far == pytest.approx(0.0, abs=EXACT_MM2)


@pytest.mark.parametrize("centres", [TRIANGLE, ROW], ids=["triangle", "row"])
def test_polygon_cut_by_an_outline(centres):
    """A slanting band through convex and concave arcs, against the fine walk; halves add up."""
    outline = chain(centres, 12.975, 4.8)
    band = shapely.Polygon([(-30, -14), (60, 6), (60, 13), (-30, -7)])
    shared = polygon_outline_area_mm2(band, outline)
    assert shared == pytest.approx(band.intersection(walk(outline)).area, rel=1e-6)
    left, right = shapely.box(-99, -99, 7.3, 99), shapely.box(7.3, -99, 99, 99)
    both = polygon_outline_area_mm2(left, outline) + polygon_outline_area_mm2(right, outline)
    assert both == pytest.approx(outline_area_mm2(outline), rel=1e-13)


def test_one_disc_is_its_own_outline():
    """A single arc of a whole turn: the disc."""
    arc = OutlineArc(centre_mm=(3.0, 4.0), radius_mm=5.0, start_rad=1.0, sweep_rad=math.tau, disc=0)
    outline = Outline(arcs=(arc,), seats=(), discs=((3.0, 4.0, 5.0),))
    assert outline_area_mm2(outline) == pytest.approx(25 * math.pi, abs=EXACT_MM2)
    half = polygon_outline_area_mm2(shapely.box(3, -9, 20, 20), outline)
    assert half == pytest.approx(12.5 * math.pi, abs=EXACT_MM2)
