"""Loops of lines and arcs: areas by formula, fillets, moves, refusals."""

from __future__ import annotations

import math

import pytest

from layouts.slabs.errors import SolidError
from layouts.slabs.profile import (
    Arc,
    Line,
    circle,
    loop_area_mm2,
    loop_points_mm,
    mirrored_x,
    moved,
    polygon,
    rectangle,
    reversed_loop,
    rounded_polygon,
    segment_end,
    segment_start,
)

L_SHAPE = [(0, 0), (30, 0), (30, 10), (10, 10), (10, 25), (0, 25)]


def assert_closed(loop):
    """Every segment begins where the one before it ends."""
    for before, after in zip(loop, loop[1:] + loop[:1], strict=True):
        assert math.dist(segment_end(before), segment_start(after)) < 1e-9


def test_circle_has_the_area_of_a_circle():
    """Green's theorem on one arc gives pi r^2, wherever the circle lies."""
    assert loop_area_mm2(circle((123.0, -45.0), 7.5)) == pytest.approx(math.pi * 7.5**2, rel=1e-14)


def test_rounded_rectangle_loses_its_corners():
    """A fillet of radius r takes r^2 (1 - pi/4) from each right corner."""
    loop = rectangle(-3, 2, 37, 22, 4)
    assert_closed(loop)
    assert loop_area_mm2(loop) == pytest.approx(40 * 20 - (4 - math.pi) * 16, rel=1e-14)


def test_concave_corner_gains_what_a_convex_one_loses():
    """In an L the one inner fillet adds r^2 (1 - pi/4), the five outer ones take as much."""
    loop = rounded_polygon(L_SHAPE, [2, 2, 2, 3, 2, 2])
    assert_closed(loop)
    expected = 30 * 10 + 10 * 15 + (1 - math.pi / 4) * (9 - 5 * 4)
    assert loop_area_mm2(loop) == pytest.approx(expected, rel=1e-14)


def test_radius_zero_leaves_the_corner_sharp():
    """Sharp corners carry no arc; the rest is rounded."""
    loop = rounded_polygon(L_SHAPE, [0, 2, 0, 0, 2, 0])
    assert_closed(loop)
    assert sum(isinstance(segment, Arc) for segment in loop) == 2
    assert loop_area_mm2(loop) == pytest.approx(450 - 2 * (4 - math.pi), rel=1e-14)


def test_rounded_polygon_keeps_the_way_round():
    """A clockwise polygon gives a clockwise loop of the same size."""
    forward = loop_area_mm2(rounded_polygon(L_SHAPE, 1.5))
    backward = loop_area_mm2(rounded_polygon(L_SHAPE[::-1], 1.5))
    assert backward == pytest.approx(-forward, rel=1e-14)


def test_straight_corners_drop_out():
    """A point on an edge needs no fillet and leaves no trace."""
    with_point = rounded_polygon([(0, 0), (10, 0), (20, 0), (20, 10), (0, 10)], 2)
    assert len(with_point) == len(rounded_polygon([(0, 0), (20, 0), (20, 10), (0, 10)], 2))


def test_fillets_may_use_up_an_edge_but_no_more():
    """Radii of half the width make a slot of two half circles; more is refused with numbers."""
    slot = rounded_polygon([(0, 0), (20, 0), (20, 10), (0, 10)], 5)
    assert_closed(slot)
    assert loop_area_mm2(slot) == pytest.approx(10 * 10 + math.pi * 25, rel=1e-14)
    with pytest.raises(SolidError, match=r"radii 5.1 and 5.1 need 10.200 mm of the 10.000 mm edge"):
        rounded_polygon([(0, 0), (20, 0), (20, 10), (0, 10)], 5.1)


def test_moving_keeps_the_area_and_mirroring_turns_its_sign():
    """Rigid moves keep the signed area; a mirror and a reversal turn it."""
    loop = rounded_polygon(L_SHAPE, 2)
    area = loop_area_mm2(loop)
    assert loop_area_mm2(moved(loop, 11, -7, 0.83)) == pytest.approx(area, rel=1e-13)
    assert loop_area_mm2(mirrored_x(loop)) == pytest.approx(-area, rel=1e-13)
    assert loop_area_mm2(reversed_loop(loop)) == pytest.approx(-area, rel=1e-13)
    for changed in (moved(loop, 11, -7, 0.83), mirrored_x(loop), reversed_loop(loop)):
        assert_closed(changed)


def test_mirroring_twice_is_the_start():
    """Mirrored twice, every segment begins and ends where it did."""
    loop = rounded_polygon(L_SHAPE, 2)
    for once, twice in zip(loop, mirrored_x(mirrored_x(loop)), strict=True):
        assert math.dist(segment_start(once), segment_start(twice)) < 1e-12
        assert math.dist(segment_end(once), segment_end(twice)) < 1e-12


def test_moved_turns_about_the_origin_before_it_shifts():
    """A point at (10, 0), a quarter turn and a shift by (1, 2): (1, 12)."""
    (line, *_rest) = moved(polygon([(10, 0), (20, 0), (20, 5)]), 1, 2, math.pi / 2)
    assert isinstance(line, Line)
    assert line.start == pytest.approx((1, 12))


def test_loop_points_lie_on_the_loop_within_the_chord():
    """Points of a circle lie on it, and chord middles at most chord_mm inside."""
    points = loop_points_mm(circle((5, 6), 8), 0.02)
    for a, b in zip(points, points[1:] + points[:1], strict=True):
        assert math.dist(a, (5, 6)) == pytest.approx(8)
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        assert 8 - 0.02 <= math.dist(middle, (5, 6)) < 8


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: circle((0, 0), 0), "radius_mm of a circle"),
        (lambda: polygon([(0, 0), (1, 1)]), "polygon of 2 points"),
        (lambda: rectangle(0, 0, -1, 2), "is empty"),
        (lambda: rounded_polygon(L_SHAPE, [1, 2]), "6 corners with 2 radii"),
        (lambda: rounded_polygon([(0, 0), (1, 0), (2, 0)], 0), "lie on one line"),
    ],
)
def test_figures_without_an_inside_are_refused(make, said):
    """Each refusal names what is wrong and the remedy."""
    with pytest.raises(SolidError, match=said) as caught:
        make()
    assert caught.value.remedy
