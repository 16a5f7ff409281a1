"""Hidden-line drawings of shapes whose visible edges are known from geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest

from generators.drawings.hidden_lines import visible_lines
from tests.generators.drawings.shapes import (
    box,
    cylinder,
    directions,
    drilled_plate,
    length_mm,
    points_along,
)

WITHIN = (80.0, 80.0)
# two pixels of 1/15 mm at both ends of a line, in the drawing's own size
END_PIXELS = 4.0 / 15.0


def test_a_cube_from_its_corner_shows_nine_edges_of_the_right_length() -> None:
    """Seen along a space diagonal 9 of 12 edges show, each as sqrt(2/3) of its length."""
    lines = visible_lines([box((0, 0, 0), (10, 10, 10))], view=(1, -1, 1), within_mm=WITHIN)
    found = directions(lines)
    each = 10.0 * math.sqrt(2.0 / 3.0)
    # three edges each upright and at 30 degrees to the level, both ways
    assert set(found) == {30, 90, 150}
    for total in found.values():
        assert total == pytest.approx(3 * each, abs=0.02)


def test_a_flat_side_shows_no_triangles() -> None:
    """Straight on, a cube is its square alone: diagonals of its triangles are no edges."""
    lines = visible_lines([box((0, 0, 0), (10, 10, 10))], view=(0, -1, 0), within_mm=WITHIN)
    assert set(directions(lines)) == {0, 90}
    assert length_mm(lines) == pytest.approx(40.0, abs=0.02)


def test_from_right_above_up_is_taken_as_it_can_be() -> None:
    """Looking straight down there is no upright; the plan comes out, true to size."""
    lines = visible_lines([box((0, 0, 0), (12, 5, 3))], view=(0, 0, 1), within_mm=WITHIN)
    assert length_mm(lines) == pytest.approx(34.0, abs=0.02)
    assert np.ptp(np.vstack(lines), axis=0) == pytest.approx([12.0, 5.0], abs=1e-6)


def test_a_cube_behind_a_larger_one_adds_nothing() -> None:
    """What is wholly hidden leaves the drawing as it was."""
    front = box((0, 0, 0), (20, 1, 20))
    behind = box((5, 5, 5), (15, 15, 15))
    alone = visible_lines([front], view=(0, -1, 0), within_mm=WITHIN)
    both = visible_lines([front, behind], view=(0, -1, 0), within_mm=WITHIN)
    assert length_mm(both) == pytest.approx(length_mm(alone), abs=1e-9)
    # and the order of the two does not matter, while before it the small one shows
    turned = visible_lines([behind, front], view=(0, 1, 0), within_mm=WITHIN)
    assert length_mm(turned) == pytest.approx(80.0 + 40.0, abs=0.02)


def test_an_edge_is_cut_where_something_begins_to_hide_it() -> None:
    """A rail that passes behind a post shows on both sides, to a pixel at each end."""
    rail = box((-30, 5, 0), (30, 6, 2))
    post = box((-4, -1, -10), (4, 1, 10))
    lines = visible_lines([rail, post], view=(0, -1, 0), within_mm=WITHIN)
    level = [
        line
        for line in lines
        if (abs(line[0, 1] - 2.0) < 0.05 and abs(line[-1, 1] - 2.0) < 0.05)
        or (np.abs(line[:, 1] - 2.0) < 0.05).sum() >= 2
    ]
    xs = points_along(level)
    xs = xs[np.abs(xs[:, 1] - 2.0) < 0.05][:, 0]
    pixel = 60.0 / 80.0 / 15.0
    gap = xs[np.abs(xs) < 10]
    assert gap[gap > 0].min() == pytest.approx(4.0, abs=2 * pixel)
    assert gap[gap < 0].max() == pytest.approx(-4.0, abs=2 * pixel)
    assert xs.min() == pytest.approx(-30.0, abs=0.02) and xs.max() == pytest.approx(30.0, abs=0.02)


def test_a_cylinder_shows_its_rim_half_its_foot_and_two_sides() -> None:
    """No line of a facet shows: one whole ellipse, half of one, two upright outlines."""
    radius, high = 10.0, 20.0
    lines = visible_lines([cylinder(radius, high)], view=(0, -1, 1), within_mm=WITHIN)
    flat = math.sin(math.pi / 4)  # the eye stands at 45 degrees: circles lose this share
    # perimeter of an ellipse by Ramanujan's second formula, error below 1e-5 here
    a, b = radius, radius * flat
    h = ((a - b) / (a + b)) ** 2
    ellipse = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert length_mm(lines) == pytest.approx(1.5 * ellipse + 2 * high * flat, rel=0.01)
    upright = [
        float(np.hypot(*(q - p)))
        for line in lines
        for p, q in zip(line, line[1:], strict=False)
        if abs(q[0] - p[0]) < 0.02 and abs(q[1] - p[1]) > 3.0
    ]
    assert len(upright) == 2
    # every point lies on one of the ellipses or sides, to twice the tolerance of the drawing
    points = points_along(lines)
    printed = 80.0 / max(2 * radius, high * flat + 2 * b)
    off = 2 * 0.03 / printed + 0.02
    top, foot = high * flat, 0.0
    near = [np.abs(np.hypot(points[:, 0], (points[:, 1] - z) / flat) - radius) for z in (top, foot)]
    side = np.abs(np.abs(points[:, 0]) - radius)
    assert (np.minimum(np.minimum(*near) * flat, side) < off).all()


def test_a_holes_far_rim_shows_only_where_the_hole_lets_it() -> None:
    """Through a hole as deep as it is wide the lower rim's far part is seen, the rest is not."""
    radius, high = 6.0, 6.0
    lines = visible_lines([drilled_plate(15, radius, high)], view=(0, -1, 1), within_mm=WITHIN)
    flat = math.sin(math.pi / 4)
    points = points_along(lines)
    top = points[np.abs(np.hypot(points[:, 0], points[:, 1] / flat - high) - radius) < 0.05]
    # above: the whole rim of the hole, so points in every eighth of a turn
    turn = np.arctan2(top[:, 1] / flat - high, top[:, 0])
    assert len(np.unique((turn // (math.pi / 4)).astype(int))) == 8
    # below: circle of the same radius, 6 mm further down; it is seen within the upper circle
    # only: u^2 + (v + 6)^2 = 36 and u^2 + v^2 < 36 in the plan, so v > -3 from the middle
    inner = points[
        (np.abs(np.hypot(points[:, 0], points[:, 1] / flat) - radius) < 0.05)
        & (np.abs(points[:, 0]) < 5.0)
        & (points[:, 1] > 0)
    ]
    assert inner[:, 1].max() / flat == pytest.approx(radius, abs=0.05)
    assert inner[:, 1].min() / flat > radius - high / 2 - 0.3


def test_a_round_that_runs_into_a_flat_draws_no_line() -> None:
    """A rounded corner's ends are tangent: only the outline and the rims show."""
    from generators.meshes.mesh import mesh
    from layouts.slabs.profile import rectangle
    from layouts.slabs.slabs import Slab, build

    body = build({"a": [rectangle(-10, -10, 10, 10, 4)]}, [Slab(0, 8, lambda inside: inside["a"])])
    made = mesh(body, 0.02)
    lines = visible_lines([(made.vertices_mm, made.faces)], view=(1, -1, 1), within_mm=WITHIN)
    upright = directions(lines).get(90, 0.0)
    # two outlines of 8 mm, seen at sqrt(2/3); short steps of the rims may stand upright too
    assert upright == pytest.approx(2 * 8 * math.sqrt(2.0 / 3.0), abs=0.4)


def test_two_runs_give_the_same_lines() -> None:
    """Same meshes, same numbers, to the last bit."""
    mesh = drilled_plate(15, 6, 5)
    first = visible_lines([mesh, cylinder(3, 9)], within_mm=WITHIN)
    again = visible_lines([mesh, cylinder(3, 9)], within_mm=WITHIN)
    assert len(first) == len(again) > 3
    assert all(np.array_equal(a, b) for a, b in zip(first, again, strict=True))


def test_points_on_straight_lines_are_left_out() -> None:
    """A cube's drawing holds corners only: no more than two points an edge."""
    lines = visible_lines([box((0, 0, 0), (10, 10, 10))], view=(1, -1, 1), within_mm=WITHIN)
    assert sum(len(line) for line in lines) <= 18


def test_nothing_gives_no_lines() -> None:
    """No mesh, or one without triangles, is an empty drawing."""
    empty = (np.zeros((0, 3)), np.zeros((0, 3), np.int64))
    assert visible_lines([], within_mm=WITHIN) == []
    assert visible_lines([empty], within_mm=WITHIN) == []
