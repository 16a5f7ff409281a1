"""Strokes joined to loops and flattened on the free side."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from generators.spaces.curves import FLAT_MM, OpenOutlineError, arc, flattened, joined, line

SQUARE = [(0, 0), (100, 0), (100, 50), (0, 50)]


def sides(points) -> list[np.ndarray]:
    """A ring's sides, each a stroke of its own."""
    return [line(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True)]


def dense(pieces: np.ndarray) -> np.ndarray:
    """Points on cubics, evaluated by repeated halving, independently of the code."""
    t = np.linspace(0, 1, 65)[:, None, None]
    rows = [pieces[:, i][None] for i in range(4)]
    while len(rows) > 1:
        rows = [a + t * (b - a) for a, b in zip(rows, rows[1:], strict=False)]
    return rows[0].transpose(1, 0, 2).reshape(-1, 2)


def test_lines_in_any_order_and_way_close_a_loop() -> None:
    """Shuffled and reversed sides make the one ring, with its exact corners."""
    strokes = sides(SQUARE)
    shuffled = [strokes[2][::-1, ::-1], strokes[0], strokes[3], strokes[1][::-1, ::-1]]
    (loop,) = joined(shuffled)
    assert abs(loop.area_mm2) == 5000
    ring = flattened(loop)
    assert {tuple(p) for p in ring.tolist()} == {(float(x), float(y)) for x, y in SQUARE}
    assert shapely.LinearRing(ring).is_ccw
    assert not shapely.LinearRing(flattened(loop, hole=True)).is_ccw


def test_ends_join_within_a_hundredth() -> None:
    """0.009 mm apart is joined, 0.02 mm is reported as a gap with its places."""
    near = [*sides(SQUARE)[:3], line((0, 50), (0.009, 0))]
    (loop,) = joined(near)
    assert abs(loop.area_mm2) == pytest.approx(5000, abs=1)
    with pytest.raises(OpenOutlineError) as caught:
        joined([*sides(SQUARE)[:3], line((0, 50), (0, 0.02))])
    assert caught.value.why == "does not close: 2 loose ends"
    assert caught.value.where == "at [0, 0], [0, 0.02], the nearest two 0.02 mm apart"


def test_a_line_left_out_and_a_branch_are_told_with_their_places() -> None:
    """An open run names its ends; three lines at one point name the point."""
    with pytest.raises(OpenOutlineError, match=r"2 loose ends \(at \[0, 0\], \[0, 50\]"):
        joined(sides(SQUARE)[:3])
    with pytest.raises(OpenOutlineError, match=r"more than two lines .*at \[0, 0\]"):
        joined([*sides(SQUARE), line((0, 0), (-20, 0))])


def test_lines_drawn_twice_count_once() -> None:
    """The same side again, or backwards, changes nothing; so do lines of no length."""
    strokes = sides(SQUARE)
    (loop,) = joined([*strokes, strokes[1], strokes[2][::-1, ::-1], line((5, 5), (5, 5))])
    assert abs(loop.area_mm2) == 5000


@pytest.mark.parametrize("radius", [3.0, 50.0, 700.0])
def test_a_circle_is_flattened_on_the_free_side(radius) -> None:
    """A round space lies within the true circle, a round hole round it, both within 0.02 mm."""
    (loop,) = joined([arc((7, -4), (radius, 0), (0, radius), 0.3, math.tau)])
    assert loop.area_mm2 == pytest.approx(math.pi * radius**2, rel=1e-8)
    centre = shapely.Point(7, -4)
    room, hole = (shapely.LinearRing(flattened(loop, hole=is_hole)) for is_hole in (False, True))
    assert room.is_ccw and not hole.is_ccw
    tiny = 1e-8 * radius  # by which a cubic departs from a circle
    assert room.hausdorff_distance(centre) <= radius + tiny
    assert radius - FLAT_MM <= room.distance(centre)
    assert radius - tiny <= hole.distance(centre)
    assert hole.hausdorff_distance(centre) <= radius + FLAT_MM


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(st.floats(-40, 40), min_size=8, max_size=8), st.booleans())
def test_any_curve_is_flattened_within_its_room(offsets, hole) -> None:
    """A square whose sides are any cubics: no corner or chord outside the true free space by more
    than
    float noise, none further in than 0.02 mm."""
    corners = np.array([(0, 0), (400, 0), (400, 400), (0, 400)], dtype=float)
    pieces = []
    for i in range(4):
        a, b = corners[i], corners[(i + 1) % 4]
        out = np.array([(b - a)[1], -(b - a)[0]]) / 400
        bend = (
            a + (b - a) / 3 + out * offsets[2 * i],
            a + (b - a) * 2 / 3 + out * offsets[2 * i + 1],
        )
        pieces.append([a, *bend, b])
    (loop,) = joined([np.array(pieces)])
    true = shapely.Polygon(dense(np.array(pieces)))
    flat = shapely.Polygon(flattened(loop, hole=hole))
    room, found = (true, flat) if not hole else (flat, true)
    chord = 0.02  # how far the dense points' own chords may lie from the curve
    assert room.buffer(chord).covers(found)
    assert true.exterior.hausdorff_distance(flat.exterior) <= FLAT_MM + chord


def test_a_straight_cubic_stays_one_side() -> None:
    """A cubic with its control points on the line gives no corner of its own."""
    (loop,) = joined(sides(SQUARE))
    assert len(flattened(loop)) == 4
