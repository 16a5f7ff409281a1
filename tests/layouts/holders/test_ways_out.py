"""Ways out of an outline, and its box, against a polygon of many corners."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from layouts.holders.outline import exit_mm, outline_box_mm, outline_points_mm, rolling_outline

STEP_RAD = 0.002


@pytest.mark.parametrize("seed", range(6))
def test_exits_and_boxes_are_those_of_the_drawn_outline(seed: int) -> None:
    """Random fields of discs: both crossings of rays from inside and from outside."""
    rng = np.random.default_rng(seed)
    angle = np.sort(rng.uniform(0, math.tau, 7))
    far = rng.uniform(12.0, 22.0, 7)
    discs = np.column_stack([far * np.cos(angle), far * np.sin(angle), rng.uniform(9, 13, 7)])
    discs = np.vstack([discs, [0.0, 0.0, 12.0]])
    outline = rolling_outline(discs)
    points = outline_points_mm(outline, STEP_RAD)
    plan = shapely.Polygon(points)
    assert outline_box_mm(outline) == pytest.approx(plan.bounds, abs=1e-3)
    ring = plan.exterior
    for start in ((0.0, 0.0), (3.0, -4.0), (-60.0, 5.0), (50.0, -45.0)):
        for way in np.radians(np.arange(7.0, 360.0, 31.0)):
            ray = shapely.LineString(
                [start, (start[0] + 200 * math.cos(way), start[1] + 200 * math.sin(way))]
            )
            hits = shapely.get_coordinates(ring.intersection(ray))
            along = np.hypot(*(hits - start).T) if len(hits) else np.zeros(0)
            # a length of 3 for the direction, which need not be 1
            direction = (3.0 * math.cos(way), 3.0 * math.sin(way))
            last = exit_mm(outline, start, direction)
            first = exit_mm(outline, start, direction, last=False)
            if not len(hits):
                assert (last is None and first is None) or last == pytest.approx(first, abs=2.0)
                continue
            assert last is not None and first is not None
            # rays that graze the outline meet it anywhere near
            assert last == pytest.approx(along.max(), abs=0.05)
            assert first == pytest.approx(along.min(), abs=0.05)
