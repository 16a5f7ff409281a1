"""The way of a seam through walls of lines and arcs, exact: in walls the pieces lap in the plan.

Beside the seam the outer half of the wall goes with the piece before it, the inner half with the
piece behind, parted along the wall's middle line. All is worked out for a seam square to x; for one
square to y the plan is mirrored at its diagonal.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.loops import parallel
from layouts.enclosures.fitted.splices import BedSeam
from layouts.enclosures.laps import SEAM_GAP_MM, WALL_INSIDE_MM, WALL_LAP_MM
from layouts.slabs.profile import (
    Arc,
    Line,
    Loop,
    Segment,
    polygon,
    reversed_loop,
    segment_end,
    segment_start,
)

__all__ = ["LapWalls", "kept_half", "kept_loop", "lap_walls"]

Point = tuple[float, float]
Box = tuple[float, float, float, float]

LEAST_HALF_MM = 0.2  # radius of a hollow's middle line
BEYOND_MM = 20.0  # round the part, where a piece's mask ends
TURN_RAD = math.radians(65.0)  # a wall is crossed no more slantwise than this
SAME_MM = 1e-6  # two places on a loop nearer than this are one
CROSSES = "crosses a wall too slantwise for a lap"


@dataclass(frozen=True, kw_only=True, slots=True)
class LapWalls:
    """What a seam's way through walls is worked out from, for a seam square to x.

    ``middles``: the walls' middle line, half a gap outside of it and half a gap inside;
    ``inner``: their inner face; ``box``: least and most x and y of the part."""

    middles: tuple[Loop, Loop]
    inner: Loop
    box: Box


def lap_walls(inner: Loop, wall_mm: float, box: Box, axis: int) -> LapWalls:
    """Walls ``wall_mm`` thick outside ``inner``, for seams square to an axis; ``box``: round all of
    the part."""
    half = wall_mm / 2
    middles = (
        parallel(inner, half + SEAM_GAP_MM / 2, LEAST_HALF_MM),
        parallel(inner, half - SEAM_GAP_MM / 2, LEAST_HALF_MM),
    )
    if axis == 0:
        return LapWalls(middles=middles, inner=inner, box=box)
    x0, y0, x1, y1 = box
    return LapWalls(
        middles=(mirrored_diagonal(middles[0]), mirrored_diagonal(middles[1])),
        inner=mirrored_diagonal(inner), box=(y0, x0, y1, x1),
    )  # fmt: skip


def mirrored_diagonal(loop: Loop) -> Loop:
    """The loop with x and y exchanged, run so that it still goes the same way round."""
    mirrored = tuple(
        Line((one.start[1], one.start[0]), (one.end[1], one.end[0]))
        if isinstance(one, Line)
        else Arc(
            (one.centre[1], one.centre[0]), one.radius_mm, math.pi / 2 - one.start_rad,
            -one.sweep_rad,
        )
        for one in loop
    )  # fmt: skip
    return reversed_loop(mirrored)


def kept_loop(seam: BedSeam, walls: LapWalls, *, behind: bool, off_mm: float) -> Loop:
    """All of the plan that the piece before (behind) a seam keeps.

    ``off_mm``: where the seam's line through floor or plate lies at this height, from its place.
    Raises OutlineError where a wall cannot lap."""
    way = _way(seam.at_mm, walls, behind=behind, off_mm=off_mm)
    x0, _, x1, _ = walls.box
    far = x1 + BEYOND_MM if behind else x0 - BEYOND_MM
    low, high = segment_start(way[0]), segment_end(way[-1])
    loop = (*way, Line(high, (far, high[1])), Line((far, high[1]), (far, low[1])),
            Line((far, low[1]), low))  # fmt: skip
    return loop if seam.axis == 0 else mirrored_diagonal(loop)


def kept_half(seam: BedSeam, box: Box, *, behind: bool, off_mm: float) -> Loop:
    """The same for a part without walls: all on one side of a straight line. ``box``: least and
    most x and y of the part."""
    at = seam.at_mm + off_mm + (SEAM_GAP_MM / 2 if behind else -SEAM_GAP_MM / 2)
    ends = [[box[0] - BEYOND_MM, box[1] - BEYOND_MM], [box[2] + BEYOND_MM, box[3] + BEYOND_MM]]
    ends[0 if behind else 1][seam.axis] = at
    (x0, y0), (x1, y1) = ends
    return polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _way(at_mm: float, walls: LapWalls, *, behind: bool, off_mm: float) -> list[Segment]:
    """From far below to far above."""
    gap = SEAM_GAP_MM / 2 if behind else -SEAM_GAP_MM / 2
    before_u, line_u, behind_u = (
        at_mm - WALL_LAP_MM + gap,
        at_mm + off_mm + gap,
        (at_mm + WALL_LAP_MM + gap),
    )
    middle = walls.middles[1 if behind else 0]
    faces = _crossings(walls.inner, at_mm - WALL_LAP_MM, at_mm + WALL_LAP_MM)
    y0, y1 = walls.box[1] - BEYOND_MM, walls.box[3] + BEYOND_MM
    corners: list[Segment] = []
    at: Point = (behind_u, y0)

    def to(point: Point) -> None:
        nonlocal at
        if math.dist(at, point) > 1e-9:
            corners.append(Line(at, point))
        at = point

    crossings = _crossings(middle, before_u, behind_u)
    if len(crossings) != len(faces) or len(crossings) % 2:
        raise OutlineError(CROSSES, remedy="another place for the seam")
    for k, (crossing, face) in enumerate(zip(crossings, faces, strict=True)):
        entering = k % 2 == 0
        ends = [v for one in face for _, v in (segment_start(one), segment_end(one))]
        # a way along the wall's middle line, from behind to before where the wall is entered
        path = (
            crossing
            if segment_start(crossing[0])[0] > segment_end(crossing[-1])[0]
            else (reversed_loop(crossing))
        )
        if not entering:
            path = reversed_loop(path)
            inside = min(ends) - WALL_INSIDE_MM + gap
            to((line_u, inside))
            to((before_u, inside))
        to(segment_start(path[0]))
        corners.extend(path)
        at = segment_end(path[-1])
        if entering:
            inside = max(ends) + WALL_INSIDE_MM - gap
            to((before_u, inside))
            to((line_u, inside))
    to((behind_u, y1))
    return corners


def _crossings(loop: Loop, low: float, high: float) -> list[tuple[Segment, ...]]:
    """Stretches of a loop that cross the strip between two x, by their place along y.

    Raises OutlineError where one turns back within the strip, or crosses it too slantwise."""
    events: list[tuple[int, float, int]] = []  # segment, share of it, which edge
    for k, one in enumerate(loop):
        for edge, u in enumerate((low, high)):
            events += [(k, share, edge) for share in _shares(one, u)]
    events.sort()
    # a joint of two segments on an edge counts once
    events = [
        one
        for one, after in zip(events, [*events[1:], *events[:1]], strict=True)
        if math.dist(_point(loop[one[0]], one[1]), _point(loop[after[0]], after[1])) > SAME_MM
    ]
    found = []
    for (k, share, edge), (j, other, end) in zip(events, [*events[1:], *events[:1]], strict=True):
        within = _stretch(loop, k, share, j, other)
        middle = _at(loop, k, share, j, other)
        if not low < middle < high:
            continue
        if edge == end:
            raise OutlineError(CROSSES, remedy="another place for the seam")
        _refuse_slant(within)
        found.append(within)
    return sorted(found, key=lambda way: segment_start(way[0])[1])


def _at(loop: Loop, k: int, share: float, j: int, other: float) -> float:
    """x of a point of the stretch between two places of a loop."""
    first = _stretch(loop, k, share, j, other)[0]
    return _point(first, 0.5)[0]


def _shares(one: Segment, u: float) -> list[float]:
    """Where along a segment its x is ``u``, as shares of its length, its end not counted."""
    if isinstance(one, Line):
        x0, x1 = one.start[0], one.end[0]
        return [(u - x0) / (x1 - x0)] if min(x0, x1) <= u < max(x0, x1) and x0 != x1 else []
    cosine = (u - one.centre[0]) / one.radius_mm
    if abs(cosine) >= 1.0:
        return []
    found = []
    for angle in (math.acos(cosine), -math.acos(cosine)):
        sign = math.copysign(1.0, one.sweep_rad)
        share = ((angle - one.start_rad) * sign % math.tau) / abs(one.sweep_rad)
        if share < 1.0:
            found.append(share)
    return found


def _stretch(loop: Loop, k: int, share: float, j: int, other: float) -> tuple[Segment, ...]:
    """A loop's segments from one place on to another."""
    if k == j and other > share:
        return (_part(loop[k], share, other),)
    found = [_part(loop[k], share, 1.0)]
    n = (k + 1) % len(loop)
    while n != j:
        found.append(loop[n])
        n = (n + 1) % len(loop)
    if other > 0.0:
        found.append(_part(loop[j], 0.0, other))
    return tuple(one for one in found if _long(one) > 1e-9)


def _part(one: Segment, low: float, high: float) -> Segment:
    """A segment between two shares of its length."""
    if isinstance(one, Line):
        return Line(_point(one, low), _point(one, high))
    return Arc(
        one.centre, one.radius_mm, one.start_rad + low * one.sweep_rad, (high - low) * one.sweep_rad
    )


def _point(one: Segment, share: float) -> Point:
    if isinstance(one, Line):
        (x0, y0), (x1, y1) = one.start, one.end
        return (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
    return one.at(one.start_rad + share * one.sweep_rad)


def _long(one: Segment) -> float:
    if isinstance(one, Line):
        return math.dist(one.start, one.end)
    return one.radius_mm * abs(one.sweep_rad)


def _refuse_slant(way: Sequence[Segment]) -> None:
    """OutlineError where a stretch runs more along y than along x anywhere."""
    steps: list[Point] = []
    for one in way:
        steps += [_point(one, share / 8) for share in range(8)]
    steps.append(segment_end(way[-1]))
    sign = math.copysign(1.0, steps[-1][0] - steps[0][0])
    for (x0, y0), (x1, y1) in zip(steps, steps[1:], strict=False):
        if math.atan2(abs(y1 - y0), sign * (x1 - x0)) > TURN_RAD:
            raise OutlineError(CROSSES, remedy="another place for the seam")
