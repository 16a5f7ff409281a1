"""Parallel curves: distance, area by Steiner's formula, what is refused; a wall built from both."""

from __future__ import annotations

import math

import pytest
import shapely

from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.loops import loop_length_mm, loop_polygon, parallel
from layouts.enclosures.fitted.outline import closed_outline
from layouts.slabs.profile import (
    circle,
    loop_area_mm2,
    loop_points_mm,
    rectangle,
    reversed_loop,
    rounded_polygon,
)
from layouts.slabs.slabs import Slab, build
from tests.layouts.enclosures.fitted.contents import (
    BALL_MM,
    assert_tangent,
    field_with_rooms,
    room,
    samples,
)

WALL_MM, LEAST_MM = 1.8, 2.6
CHORD_MM = 1e-4


@pytest.mark.parametrize("by_mm", [WALL_MM, 1.2, -0.4])
def test_parallel_keeps_its_distance(by_mm: float) -> None:
    """Sampled on every segment; tangent; area and length by Steiner's formula."""
    discs, rooms = field_with_rooms()
    loop = closed_outline(discs, rooms, BALL_MM).loop
    other = parallel(loop, by_mm, LEAST_MM)
    assert len(other) == len(loop)
    assert_tangent(other)
    points = samples(other, 9)
    shape = loop_polygon(loop, CHORD_MM)
    gaps = shapely.distance(shape.exterior, shapely.points(points))
    assert gaps == pytest.approx(abs(by_mm), abs=2 * CHORD_MM)
    assert bool(shapely.contains_xy(shape, points).any()) == (by_mm < 0)
    # a closed curve that turns once: area + length * d + pi d^2, length + 2 pi d (Steiner)
    length = loop_length_mm(loop)
    area = loop_area_mm2(loop) + length * by_mm + math.pi * by_mm**2
    assert loop_area_mm2(other) == pytest.approx(area, rel=1e-12)
    assert loop_length_mm(other) == pytest.approx(length + math.tau * by_mm, rel=1e-12)


def test_there_and_back_is_the_same_loop() -> None:
    """Outside by a wall and inside again."""
    discs, rooms = field_with_rooms()
    loop = closed_outline(discs, rooms, BALL_MM).loop
    back = parallel(parallel(loop, WALL_MM, LEAST_MM), -WALL_MM, LEAST_MM)
    assert samples(back) == pytest.approx(samples(loop), abs=1e-12)


def test_radius_below_the_least_is_refused() -> None:
    """A hollow outside, a corner inside; the very least passes."""
    loop = closed_outline([], (room(0, 0, 60, 20), room(0, 0, 20, 50)), BALL_MM).loop
    parallel(loop, 1.8, 2.6)
    with pytest.raises(OutlineError, match=r"hollow at \(2.*\) would have a radius of 2.50 mm"):
        parallel(loop, 1.9, LEAST_MM)
    with pytest.raises(OutlineError, match=r"corner at .* radius of 2.50 mm, least 2.6"):
        parallel(loop, -0.5, LEAST_MM)
    with pytest.raises(OutlineError, match=r"radius of 0.00 mm"):
        parallel(circle((0.0, 0.0), 2.0), -2.0, 0.0)


def test_curve_that_meets_itself_is_refused() -> None:
    """A bay whose mouth is narrower than two walls; a neck that has no inside left."""
    bay = rounded_polygon(
        [(0, 0), (60, 0), (60, 60), (33, 60), (33, 40), (45, 40), (45, 15), (15, 15)]
        + [(15, 40), (27, 40), (27, 60), (0, 60)],
        [3] * 5 + [4] * 4 + [3] * 3,
    )
    parallel(bay, 2.9, 0.5)
    with pytest.raises(OutlineError, match=r"meets itself at a neck at \(30\.0, "):
        parallel(bay, 3.0, 0.5)
    neck = rounded_polygon(
        [(0, 0), (60, 0), (60, 28), (80, 28), (80, 0), (140, 0)]
        + [(140, 60), (80, 60), (80, 32), (60, 32), (60, 60), (0, 60)],
        [5, 5, 1, 1, 5, 5] * 2,
    )
    parallel(neck, -1.9, 0.5)
    with pytest.raises(OutlineError, match="meets itself"):
        parallel(neck, -2.1, 0.5)


def test_clockwise_loop_is_a_wrong_call() -> None:
    """Outside would be inside."""
    with pytest.raises(ValueError, match="counter-clockwise"):
        parallel(reversed_loop(rectangle(0, 0, 10, 10, 2.0)), 1.0, 0.5)


def test_polygon_lies_within_a_chord() -> None:
    """Corners on the loop, area less than the loop's by no more than the chords."""
    discs, rooms = field_with_rooms()
    loop = closed_outline(discs, rooms, BALL_MM).loop
    shape = loop_polygon(loop, CHORD_MM)
    assert len(shape.exterior.coords) == len(loop_points_mm(loop, CHORD_MM)) + 1
    assert shape.area == pytest.approx(loop_area_mm2(loop), abs=CHORD_MM * loop_length_mm(loop))


def test_tub_of_outline_and_wall_is_one_sound_body() -> None:
    """Floor and wall of slabs; volume by Green's theorem times the heights."""
    discs, rooms = field_with_rooms()
    inner = closed_outline(discs, rooms, BALL_MM).loop
    outer = parallel(inner, WALL_MM, LEAST_MM)
    body = build(
        {"inner": [inner], "outer": [outer]},
        [
            Slab(0.0, 3.0, lambda m: m["outer"]),
            Slab(3.0, 80.0, lambda m: m["outer"] & ~m["inner"]),
        ],
    )
    whole, hollow = loop_area_mm2(outer), loop_area_mm2(inner)
    volume = 3.0 * whole + 77.0 * (whole - hollow)
    assert body.volume_mm3() == pytest.approx(volume, rel=1e-12)
    # a wall a segment, and nothing is cut or lost on the way
    assert len(body.walls) == len(inner) + len(outer)
