"""Seconds of lines against worked values of uniformly accelerated motion."""

from __future__ import annotations

import math

import pytest
import shapely

from layouts.printing.lines import closed_lines
from layouts.printing.seconds import closed_lines_s, fill_s, run_s


def test_a_long_run_reaches_its_speed() -> None:
    """Rest to rest over 100 mm at 50 mm/s and 1000 mm/s2: 0.05 s up, 0.05 s down, 97.5 mm at 50.

    s = v^2 / (2 a) = 1.25 mm for each ramp (uniformly accelerated motion, any textbook)."""
    assert run_s(100.0, 50.0, 0.0, 1000.0) == pytest.approx(2 * 0.05 + 97.5 / 50.0)


def test_a_short_run_turns_before_it_gets_there() -> None:
    """Rest to rest over 1 mm at 1000 mm/s2: t = 2 sqrt(s / a) = 63.2 ms, whatever the speed."""
    assert run_s(1.0, 500.0, 0.0, 1000.0) == pytest.approx(2 * math.sqrt(1.0 / 1000.0))


def test_a_run_that_starts_at_its_speed_takes_length_over_speed() -> None:
    """Corners faster than the line itself are no ramps."""
    assert run_s(30.0, 60.0, 80.0, 1000.0) == pytest.approx(0.5)


def test_both_branches_meet() -> None:
    """At the length where the peak is just the speed."""
    length = (50.0**2 - 10.0**2) / 1000.0
    below, above = run_s([length - 1e-9, length + 1e-9], 50.0, 10.0, 1000.0)
    assert below == pytest.approx(above, abs=1e-9)


def closed_s(shape: shapely.Polygon, **changes: float) -> float:
    """Seconds round a shape's rims."""
    values = {"speed_mm_s": 40.0, "small_mm_s": 10.0, "jerk_mm_s": 10.0,
              "acceleration_mm_s2": 1000.0} | changes  # fmt: skip
    return closed_lines_s(closed_lines(shape), **values)


def test_a_square_is_four_runs_between_corners_at_the_jerk() -> None:
    """At a right angle along the axes each axis steps by the whole speed: 10 mm/s. Each side of
    100 mm: ramps of (40 - 10) / 1000 s over (1600 - 100) / 2000 mm, and 98.5 mm at 40."""
    side = 2 * 0.03 + 98.5 / 40.0
    assert closed_s(shapely.box(0, 0, 100, 100)) == pytest.approx(4 * side)


def test_a_round_line_is_not_slowed_by_its_chords() -> None:
    """A circle of 50 mm radius in 400 chords: 2 pi r / v."""
    circle = shapely.Point(0, 0).buffer(50.0, quad_segs=100)
    assert closed_s(circle) == pytest.approx(math.tau * 50.0 / 40.0, rel=1e-3)


def test_small_loops_go_slowly() -> None:
    """Below 13 mm diameter at the small speed, above at the line's."""
    small = shapely.Point(0, 0).buffer(6.0, quad_segs=50)
    assert closed_s(small) == pytest.approx(math.tau * 6.0 / 10.0, rel=2e-3)
    assert closed_s(shapely.Point(0, 0).buffer(7.0, quad_segs=50)) < closed_s(small)


def test_holes_are_lines_too_and_nothing_takes_no_time() -> None:
    """Both rims of a ring, all parts of several; an empty shape."""
    ring = shapely.Point(0, 0).buffer(30).difference(shapely.Point(0, 0).buffer(20))
    assert len(closed_lines(ring).begins) == 2
    assert closed_lines(ring).length_mm == pytest.approx(math.tau * 50.0, rel=0.01)
    two = shapely.union(ring, shapely.box(100, 0, 120, 20))
    assert len(closed_lines(two).begins) == 3
    assert closed_s(shapely.Polygon()) == 0.0


def test_a_filled_disc_has_chords_of_the_mean_length() -> None:
    """Mean chord of a disc under parallel lines: pi r / 2 (Cauchy and Crofton: pi A / P). With no
    time for ramps: n lines of that length, each with its run to the next one."""
    radius, apart = 20.0, 0.4
    count = 2 * radius / apart  # lines across the disc
    seconds = fill_s(
        math.pi * radius**2, math.tau * radius, apart_mm=apart, speed_mm_s=50.0, jerk_mm_s=50.0,
        acceleration_mm_s2=1000.0,
    )  # fmt: skip
    assert seconds == pytest.approx(count * (math.pi * radius / 2 / 50.0 + apart / 50.0))


def test_no_area_takes_no_time() -> None:
    """Nothing to fill."""
    nothing = fill_s(
        0.0, 0.0, apart_mm=0.4, speed_mm_s=50.0, jerk_mm_s=10.0, acceleration_mm_s2=1000.0
    )
    assert nothing == 0.0
