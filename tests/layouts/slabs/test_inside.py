"""Points inside loops of lines and arcs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from layouts.slabs.inside import BANDED_FROM_ROWS, LoopSet, ranges
from layouts.slabs.profile import (
    Arc,
    Line,
    loop_area_mm2,
    rounded_polygon,
    segment_end,
    segment_start,
)


def loop_set(loops):
    """A LoopSet of profile loops."""
    rows, owner = [], []
    for number, loop in enumerate(loops):
        starts = [segment_start(s) for s in loop]
        for segment, first, last in zip(loop, starts, starts[1:] + starts[:1], strict=True):
            assert math.dist(segment_end(segment), last) < 1e-9
            curve = (0, 0, 0, 0, 0)
            if isinstance(segment, Arc):
                curve = (*segment.centre, segment.radius_mm, segment.start_rad, segment.sweep_rad)
            rows.append((*first, *last, *curve))
            owner.append(number)
    table = np.array(rows, float)
    return LoopSet(
        table[:, :2], table[:, 2:4], table[:, 4:7], table[:, 7:], np.array(owner), len(loops)
    )


def arcs_of_circle(count, start, radius=10.0):
    """A circle about the origin made of equal arcs."""
    step = math.tau / count
    return tuple(Arc((0.0, 0.0), radius, start + k * step, step) for k in range(count))


@pytest.mark.parametrize("count", [2, 3, 4, 7, 40])
@pytest.mark.parametrize("start", [0.0, 0.4, math.pi / 2, -math.pi / 2, 7.0])
def test_arcs_of_a_circle_hold_the_points_nearer_than_its_radius(count, start):
    """However the circle is cut, points nearer than r are inside, also beside its extremes."""
    random = np.random.default_rng(count)
    points = random.uniform(-12, 12, (2000, 2))
    exact = [(0.0, y) for y in (-10.0001, -9.9999, 9.9999, 10.0001)]
    exact += [(x, 0.0) for x in (-10.0001, -9.9999, 9.9999, 10.0001)]
    points = np.vstack([points, exact])
    inside = loop_set([arcs_of_circle(count, start)]).contains(points, np.zeros(len(points), int))
    assert (inside == (np.hypot(*points.T) < 10)).all()


def test_long_loops_and_short_ones_agree():
    """A star of many corners (looked up by height) has the share of points its area says."""
    spikes = BANDED_FROM_ROWS
    corners = [
        (r * math.cos(k * math.pi / spikes), r * math.sin(k * math.pi / spikes))
        for k in range(2 * spikes)
        for r in [9.0 if k % 2 else 6.0]
    ]
    loop = rounded_polygon(corners, 0.1)
    side = np.linspace(-9.5, 9.5, 401) + 1e-4
    points = np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)
    inside = loop_set([loop]).contains(points, np.zeros(len(points), int))
    share = inside.sum() * (side[1] - side[0]) ** 2
    assert share == pytest.approx(loop_area_mm2(loop), rel=2e-3)


def test_points_level_with_a_corner_are_counted_once():
    """A ray through corners of a diamond enters and leaves once."""
    diamond = tuple(
        Line(a, b)
        for a, b in [((1, 0), (0, 1)), ((0, 1), (-1, 0)), ((-1, 0), (0, -1)), ((0, -1), (1, 0))]
    )
    points = np.array([(-2.0, 0.0), (0.0, 0.0), (2.0, 0.0), (0.5, 1.0), (-0.5, -1.0)])
    inside = loop_set([diamond]).contains(points, np.zeros(5, int))
    assert inside.tolist() == [False, True, False, False, False]


def test_ranges_join_runs_and_skip_empty_ones():
    """Runs 3..4, nothing, 10..12."""
    assert ranges(np.array([3, 7, 10]), np.array([2, 0, 3])).tolist() == [3, 4, 10, 11, 12]
    assert ranges(np.array([], int), np.array([], int)).tolist() == []
