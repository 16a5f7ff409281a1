"""Closed figures of straight lines and true arcs in the plan: pure numbers, no kernel.

A loop is a tuple of segments, each beginning where the one before it ends. It must not cross
itself. It may run either way round; ``loop_area_mm2`` says which (counter-clockwise: positive)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from layouts.slabs.errors import SolidError

__all__ = [
    "Arc",
    "Line",
    "Loop",
    "Point",
    "Segment",
    "circle",
    "loop_area_mm2",
    "loop_points_mm",
    "mirrored_x",
    "moved",
    "polygon",
    "rectangle",
    "reversed_loop",
    "rounded_polygon",
    "segment_end",
    "segment_start",
]

Point = tuple[float, float]

# Corner fillets may meet in one point of an edge; more than float noise of overlap is refused.
EDGE_SLACK_MM = 1e-9
# Below this turn a corner is straight and carries no arc: far below anything printed.
STRAIGHT_RAD = 1e-9


@dataclass(frozen=True, slots=True)
class Line:
    """Straight segment from ``start`` to ``end`` [mm]."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Arc:
    """Arc of a circle; ``sweep_rad`` > 0 runs counter-clockwise, < 0 clockwise, +-2 pi is whole."""

    centre: Point
    radius_mm: float
    start_rad: float
    sweep_rad: float

    def at(self, angle_rad: float) -> Point:
        """Point of the arc's circle at an angle from +x [mm]."""
        return (
            self.centre[0] + self.radius_mm * math.cos(angle_rad),
            self.centre[1] + self.radius_mm * math.sin(angle_rad),
        )


Segment = Line | Arc
Loop = tuple[Segment, ...]


def segment_start(segment: Segment) -> Point:
    """First point of a segment [mm]."""
    return segment.start if isinstance(segment, Line) else segment.at(segment.start_rad)


def segment_end(segment: Segment) -> Point:
    """Last point of a segment [mm]."""
    if isinstance(segment, Line):
        return segment.end
    return segment.at(segment.start_rad + segment.sweep_rad)


def circle(centre: Point, radius_mm: float) -> Loop:
    """One whole circle, counter-clockwise."""
    if not radius_mm > 0:
        raise SolidError(
            f"radius_mm of a circle at {centre} is {radius_mm:g}", remedy="it must be above 0"
        )
    return (Arc((float(centre[0]), float(centre[1])), float(radius_mm), 0.0, math.tau),)


def polygon(points: Sequence[Point]) -> Loop:
    """Straight-edged loop through the points [mm], closed by itself; either way round."""
    if len(points) < 3:
        raise SolidError(f"a polygon of {len(points)} points", remedy="give at least 3")
    corners = [(float(x), float(y)) for x, y in points]
    return tuple(
        Line(corner, after)
        for corner, after in zip(corners, corners[1:] + corners[:1], strict=True)
        if corner != after
    )


def rectangle(x0: float, y0: float, x1: float, y1: float, corner_mm: float = 0.0) -> Loop:
    """Upright rectangle [mm], counter-clockwise, with rounded corners if ``corner_mm`` > 0."""
    if not (x1 > x0 and y1 > y0):
        raise SolidError(
            f"rectangle from ({x0:g}, {y0:g}) to ({x1:g}, {y1:g}) is empty",
            remedy="the second corner must lie right of and above the first",
        )
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return rounded_polygon(corners, [corner_mm] * 4) if corner_mm else polygon(corners)


def rounded_polygon(points: Sequence[Point], radii_mm: Sequence[float] | float) -> Loop:
    """Polygon with a fillet of its own radius at every corner, convex or concave.

    Radius 0 leaves a corner sharp. Points that lie straight between their neighbours drop out.
    The fillet of a corner that turns by w takes radius * tan(w/2) of both its edges; SolidError
    if an edge has not so much.
    """
    radii = [float(radii_mm)] * len(points) if isinstance(radii_mm, int | float) else list(radii_mm)
    if len(radii) != len(points) or len(points) < 3:
        raise SolidError(
            f"{len(points)} corners with {len(radii)} radii",
            remedy="give one radius a corner, 3 or more",
        )
    corners = _bent_corners([(float(x), float(y)) for x, y in points], radii)
    n = len(corners)
    edges = [
        (
            corners[(i + 1) % n][0][0] - corners[i][0][0],
            corners[(i + 1) % n][0][1] - corners[i][0][1],
        )
        for i in range(n)
    ]
    lengths = [math.hypot(*edge) for edge in edges]
    turns = [_turn_rad(edges[i - 1], edges[i]) for i in range(n)]
    taken = [corners[i][1] * math.tan(abs(turns[i]) / 2) for i in range(n)]
    for i in range(n):
        if taken[i] + taken[(i + 1) % n] > lengths[i] + EDGE_SLACK_MM:
            x, y = corners[i][0]
            raise SolidError(
                f"corner radii {corners[i][1]:g} and {corners[(i + 1) % n][1]:g} need "
                f"{taken[i] + taken[(i + 1) % n]:.3f} mm of the {lengths[i]:.3f} mm edge "
                f"from ({x:.3f}, {y:.3f})",
                remedy="take smaller radii",
            )
    loop: list[Segment] = []
    leave = []
    for i in range(n):
        (x, y), radius = corners[i]
        ux, uy = edges[i - 1][0] / lengths[i - 1], edges[i - 1][1] / lengths[i - 1]
        wx, wy = edges[i][0] / lengths[i], edges[i][1] / lengths[i]
        start = (x - ux * taken[i], y - uy * taken[i])
        end = (x + wx * taken[i], y + wy * taken[i])
        leave.append((start, end))
    for i in range(n):
        start, end = leave[i]
        radius = corners[i][1]
        if radius:
            side = math.copysign(1.0, turns[i])
            ux, uy = edges[i - 1][0] / lengths[i - 1], edges[i - 1][1] / lengths[i - 1]
            centre = (start[0] - side * radius * uy, start[1] + side * radius * ux)
            first = math.atan2(start[1] - centre[1], start[0] - centre[0])
            loop.append(Arc(centre, radius, first, turns[i]))
        after = leave[(i + 1) % n][0]
        if math.dist(end, after) > EDGE_SLACK_MM:
            loop.append(Line(end, after))
    return tuple(loop)


def _bent_corners(points: Sequence[Point], radii: Sequence[float]) -> list[tuple[Point, float]]:
    """Corners at which the way really turns, with their radii."""
    distinct = [
        i for i in range(len(points)) if math.dist(points[i], points[i - 1]) > EDGE_SLACK_MM
    ]
    kept = []
    for k, i in enumerate(distinct):
        before, here = points[distinct[k - 1]], points[i]
        after = points[distinct[(k + 1) % len(distinct)]]
        turn = _turn_rad(
            (here[0] - before[0], here[1] - before[1]), (after[0] - here[0], after[1] - here[1])
        )
        if abs(turn) > STRAIGHT_RAD:
            kept.append((here, float(radii[i])))
    if len(kept) < 3:
        raise SolidError(
            "a rounded polygon whose corners lie on one line", remedy="give it an inside"
        )
    return kept


def _turn_rad(before: Point, after: Point) -> float:
    """Signed angle from one direction to the next; left turns are positive."""
    return math.atan2(
        before[0] * after[1] - before[1] * after[0], before[0] * after[0] + before[1] * after[1]
    )


def moved(loop: Loop, dx: float, dy: float, angle_rad: float = 0.0) -> Loop:
    """The loop turned about the origin by ``angle_rad``, then shifted by (dx, dy) [mm]."""
    c, s = math.cos(angle_rad), math.sin(angle_rad)

    def place(point: Point) -> Point:
        return (c * point[0] - s * point[1] + dx, s * point[0] + c * point[1] + dy)

    return tuple(
        Line(place(segment.start), place(segment.end))
        if isinstance(segment, Line)
        else Arc(
            place(segment.centre),
            segment.radius_mm,
            segment.start_rad + angle_rad,
            segment.sweep_rad,
        )
        for segment in loop
    )


def mirrored_x(loop: Loop) -> Loop:
    """The loop with x turned into -x; it then runs the other way round."""
    return tuple(
        Line((-segment.start[0], segment.start[1]), (-segment.end[0], segment.end[1]))
        if isinstance(segment, Line)
        else Arc(
            (-segment.centre[0], segment.centre[1]),
            segment.radius_mm,
            math.pi - segment.start_rad,
            -segment.sweep_rad,
        )
        for segment in loop
    )


def reversed_loop(loop: Loop) -> Loop:
    """The same loop, run the other way round."""
    return tuple(
        Line(segment.end, segment.start)
        if isinstance(segment, Line)
        else Arc(
            segment.centre,
            segment.radius_mm,
            segment.start_rad + segment.sweep_rad,
            -segment.sweep_rad,
        )
        for segment in reversed(loop)
    )


def loop_area_mm2(loop: Loop) -> float:
    """Signed area within a loop [mm2], counter-clockwise positive.

    Green's theorem: half the sum of x dy - y dx over the segments; exact for arcs.
    """
    twice = 0.0
    for segment in loop:
        (x0, y0), (x1, y1) = segment_start(segment), segment_end(segment)
        if isinstance(segment, Line):
            twice += x0 * y1 - x1 * y0
        else:
            cx, cy = segment.centre
            twice += segment.radius_mm**2 * segment.sweep_rad + cx * (y1 - y0) - cy * (x1 - x0)
    return twice / 2


def loop_points_mm(loop: Loop, chord_mm: float = 0.01) -> list[Point]:
    """Corners of a polygon in the loop; no chord stands off its arc by more than ``chord_mm``."""
    points: list[Point] = []
    for segment in loop:
        points.append(segment_start(segment))
        if isinstance(segment, Arc):
            step = 2 * math.acos(max(-1.0, 1 - chord_mm / segment.radius_mm))
            count = max(3, math.ceil(abs(segment.sweep_rad) / step))
            points += [
                segment.at(segment.start_rad + segment.sweep_rad * k / count)
                for k in range(1, count)
            ]
    return points
