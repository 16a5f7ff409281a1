"""Loops of tangent lines and arcs: what is refused, the parallel curve, a fine polygon."""

from __future__ import annotations

import math

import numpy as np
import shapely

from layouts.enclosures.fitted.errors import OutlineError
from layouts.slabs.crossings import cuts, meeting_pairs, segments_of, touching_points_mm
from layouts.slabs.profile import (
    Arc,
    Line,
    Loop,
    Segment,
    loop_area_mm2,
    loop_points_mm,
    segment_start,
)

__all__ = [
    "loop_length_mm",
    "loop_polygon",
    "parallel",
    "refuse_crossing",
    "refuse_short",
    "refuse_small_radius",
    "shortest_mm",
]


def parallel(loop: Loop, by_mm: float, least_radius_mm: float) -> Loop:
    """The curve at ``by_mm`` from a counter-clockwise loop: outside it, or inside if below 0.

    Convex arcs grow by it, hollows shrink by it, lines shift; segments keep their order, their
    angles and their lengths if straight. A loop with tangent joints keeps them so.

    Raises
    ------
    OutlineError : an arc's radius would be below ``least_radius_mm`` (or not above 0), or the
        curve would meet itself.
    ValueError : the loop runs clockwise.
    """
    if not loop_area_mm2(loop) > 0:
        raise ValueError("parallel: the loop must run counter-clockwise")
    moved = tuple(_moved(segment, by_mm) for segment in loop)
    refuse_small_radius(moved, least_radius_mm)
    refuse_crossing(moved)
    return moved


def _moved(segment: Segment, by_mm: float) -> Segment:
    """One segment moved to its right, away from the loop's inside."""
    if isinstance(segment, Arc):
        radius = segment.radius_mm + (by_mm if segment.sweep_rad > 0 else -by_mm)
        return Arc(segment.centre, radius, segment.start_rad, segment.sweep_rad)
    (x0, y0), (x1, y1) = segment.start, segment.end
    length = math.dist(segment.start, segment.end)
    dx, dy = by_mm * (y1 - y0) / length, -by_mm * (x1 - x0) / length
    return Line((x0 + dx, y0 + dy), (x1 + dx, y1 + dy))


def refuse_small_radius(loop: Loop, least_radius_mm: float) -> None:
    """OutlineError where an arc's radius is below the least one, or not above 0."""
    arcs = [segment for segment in loop if isinstance(segment, Arc)]
    if not arcs:
        return
    worst = min(arcs, key=lambda arc: arc.radius_mm)
    if worst.radius_mm <= 0 or worst.radius_mm < least_radius_mm:
        x, y = worst.at(worst.start_rad + worst.sweep_rad / 2)
        form = "corner" if worst.sweep_rad > 0 else "hollow"
        raise OutlineError(
            f"the {form} at ({x:.1f}, {y:.1f}) would have a radius of {worst.radius_mm:.2f} mm, "
            f"least {least_radius_mm:g}",
            remedy="a larger radius there, or a thinner wall",
        )


def refuse_short(loop: Loop, least_mm: float) -> None:
    """OutlineError where a segment is shorter than that."""
    worst = min(loop, key=_length_mm)
    if _length_mm(worst) < least_mm:
        x, y = segment_start(worst)
        raise OutlineError(
            f"two sides at ({x:.3f}, {y:.3f}) lie only {_length_mm(worst):.1g} mm apart",
            remedy="make them flush, or move one by 0.1 mm",
        )


def refuse_crossing(loop: Loop) -> None:
    """OutlineError where a loop crosses or touches itself."""
    segments = segments_of([loop])
    i, j = meeting_pairs(segments)
    points = np.vstack([cuts(segments, i, j)[1], touching_points_mm(segments, i, j)])
    if len(points):
        x, y = points[0]
        raise OutlineError(
            f"the outline meets itself at a neck at ({x:.1f}, {y:.1f})",
            remedy="move what stands on both sides of it closer together or further into each "
            "other, or take a smaller ball",
        )


def loop_length_mm(loop: Loop) -> float:
    """Length of a loop, exact for arcs [mm]."""
    return math.fsum(_length_mm(segment) for segment in loop)


def shortest_mm(loop: Loop) -> float:
    """Length of a loop's shortest segment [mm]."""
    return min(_length_mm(segment) for segment in loop)


def _length_mm(segment: Segment) -> float:
    if isinstance(segment, Arc):
        return segment.radius_mm * abs(segment.sweep_rad)
    return math.dist(segment.start, segment.end)


def loop_polygon(loop: Loop, chord_mm: float = 0.01) -> shapely.Polygon:
    """Polygon with its corners on the loop, for gaps and pictures.

    No chord stands off its arc by more than ``chord_mm``, so a gap measured with it errs by no
    more.
    """
    return shapely.Polygon(loop_points_mm(loop, chord_mm))
