"""Segments of loops as columns, and where they cross, touch and overlap each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.slabs.curves import curve_boxes_mm
from layouts.slabs.errors import SolidError
from layouts.slabs.profile import Line, Loop, Segment, segment_end, segment_start

__all__ = [
    "SNAP_MM",
    "Segments",
    "cuts",
    "meeting_pairs",
    "meeting_points_mm",
    "on_segment",
    "refuse_self_crossing",
    "segments_of",
    "touching_points_mm",
]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Points nearer than this are one vertex: far below anything printed, far above float noise.
SNAP_MM = 1e-6
# Circles that dip into a curve by less than this touch it; touching makes no vertex of its own.
TOUCH_MM = 1e-6
# Lines whose directions differ by less (sine of the angle) are parallel and can only overlap.
PARALLEL_SINE = 1e-9


@dataclass(frozen=True, slots=True)
class Segments:
    """All segments of all loops as columns; ``turns`` counter-clockwise, ``forward`` as run."""

    first: FloatArray  # (n, 2), as run
    last: FloatArray
    circles: FloatArray
    turns: FloatArray  # (n, 2): first angle and sweep > 0 of the arc run counter-clockwise
    forward: NDArray[np.bool_]
    whole: NDArray[np.bool_]
    loop: IntArray
    after: IntArray  # the segment that follows in its loop

    def taken(self, k: IntArray) -> Segments:
        """The same columns for a choice of segments."""
        return Segments(
            self.first[k],
            self.last[k],
            self.circles[k],
            self.turns[k],
            self.forward[k],
            self.whole[k],
            self.loop[k],
            self.after[k],
        )


def segments_of(loops: Sequence[Loop]) -> Segments:
    """Columns of all loops; SolidError where a loop is not closed or has no size."""
    rows: list[tuple[float, ...]] = []
    loop_of: list[int] = []
    after: list[int] = []
    for number, loop in enumerate(loops):
        if not loop:
            raise SolidError(f"loop {number} has no segments", remedy="leave it out")
        begin = len(rows)
        for segment in loop:
            rows.append(_row(segment))
            loop_of.append(number)
            after.append(len(rows))
        after[-1] = begin
    table = np.array(rows, float).reshape(-1, 9)
    if not np.isfinite(table).all():
        bad = int(np.flatnonzero(~np.isfinite(table).all(axis=1))[0])
        raise SolidError(
            f"loop {loop_of[bad]} has a number that is not finite", remedy="check its sizes"
        )
    following = np.array(after, np.int64)
    first, last = table[:, :2], table[:, 2:4].copy()
    gap = np.hypot(*(last - first[following]).T)
    if (gap > SNAP_MM).any():
        bad = int(np.argmax(gap))
        raise SolidError(
            f"a loop is open by {gap[bad]:.6g} mm at ({last[bad, 0]:.3f}, {last[bad, 1]:.3f})",
            remedy="let every segment begin where the one before it ends",
        )
    last = first[following]
    sweep = table[:, 8]
    whole = np.abs(sweep) >= math.tau - 1e-12
    start = np.where(sweep < 0, table[:, 7] + sweep, table[:, 7])
    # All whole circles begin at angle 0, so that the same circle given twice is the same piece.
    turns = np.column_stack([np.where(whole, 0.0, start), np.where(whole, math.tau, np.abs(sweep))])
    return Segments(
        first,
        last,
        table[:, 4:7],
        turns,
        sweep >= 0,
        whole,
        np.array(loop_of, np.int64),
        following,
    )


def _row(segment: Segment) -> tuple[float, ...]:
    """Start, end, centre, radius, start angle and sweep; a line's last five are 0."""
    ends = (*segment_start(segment), *segment_end(segment))
    if isinstance(segment, Line):
        return (*ends, 0.0, 0.0, 0.0, 0.0, 0.0)
    return (*ends, *segment.centre, segment.radius_mm, segment.start_rad, segment.sweep_rad)


def meeting_pairs(segments: Segments) -> tuple[IntArray, IntArray]:
    """Ordered pairs (both ways) of segments whose boxes meet, neighbours in a loop left out."""
    reverse = ~segments.forward
    first = np.where(reverse[:, None], segments.last, segments.first)
    last = np.where(reverse[:, None], segments.first, segments.last)
    low, high = curve_boxes_mm(first, last, segments.circles, segments.turns)
    boxes = shapely.box(
        low[:, 0] - SNAP_MM, low[:, 1] - SNAP_MM, high[:, 0] + SNAP_MM, high[:, 1] + SNAP_MM
    )
    i, j = shapely.STRtree(boxes).query(boxes)
    apart = (i != j) & (segments.after[i] != j) & (segments.after[j] != i)
    return i[apart], j[apart]


def refuse_self_crossing(segments: Segments, i: IntArray, j: IntArray) -> None:
    """SolidError if two segments of one loop, not neighbours, meet."""
    _, points = cuts(segments, i, j)
    if len(points):
        x, y = points[0]
        raise SolidError(
            f"a loop crosses or touches itself at ({x:.3f}, {y:.3f})",
            remedy="split it into loops that don't; loops of one region may overlap",
        )


def _angle_in(
    turns: FloatArray, angle: FloatArray, slack: FloatArray
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Way along an arc [rad] to an angle, and whether the arc reaches it (within slack)."""
    way = (angle - turns[:, 0]) % math.tau
    way = np.where(way > math.tau - slack, np.where(turns[:, 1] >= math.tau - 1e-12, way, 0.0), way)
    return np.minimum(way, turns[:, 1]), way <= turns[:, 1] + slack


def on_segment(segments: Segments, points: FloatArray) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Parameter of each point on its segment, and whether it lies between the ends.

    The parameter is mm along a line as run, rad along an arc run counter-clockwise. The point
    must already lie on the segment's line or circle.
    """
    arc = segments.circles[:, 2] > 0
    along = segments.last - segments.first
    length = np.hypot(*along.T)
    safe = np.where(length > 0, length, 1.0)
    t = ((points - segments.first) * along).sum(axis=1) / safe
    fits = (t >= -SNAP_MM) & (t <= length + SNAP_MM)
    t = np.clip(t, 0.0, length)
    offset = points - segments.circles[:, :2]
    slack = SNAP_MM / np.where(arc, segments.circles[:, 2], 1.0)
    way, reached = _angle_in(segments.turns, np.arctan2(offset[:, 1], offset[:, 0]), slack)
    return np.where(arc, way, t), np.where(arc, reached, fits)


def _end_cuts(segments: Segments, i: IntArray, j: IntArray) -> tuple[IntArray, FloatArray]:
    """Starts of segments i that lie on segments j (touching ends, T-junctions, overlaps)."""
    k = ~segments.whole[i]
    i, j = i[k], j[k]
    point = segments.first[i]
    circle = segments.circles[j]
    along = segments.last[j] - segments.first[j]
    length = np.hypot(*along.T)
    offset = point - segments.first[j]
    off_line = np.abs(along[:, 0] * offset[:, 1] - along[:, 1] * offset[:, 0]) / np.where(
        length > 0, length, 1.0
    )
    off_circle = np.abs(np.hypot(*(point - circle[:, :2]).T) - circle[:, 2])
    near = np.flatnonzero(np.where(circle[:, 2] > 0, off_circle, off_line) < SNAP_MM)
    _, fits = on_segment(segments.taken(j[near]), point[near])
    near = near[fits]
    return j[near], point[near]


def _line_line(
    segments: Segments, i: IntArray, j: IntArray
) -> tuple[IntArray, IntArray, FloatArray]:
    """Crossings of straight segments that are not parallel."""
    d = segments.last[i] - segments.first[i]
    g = segments.last[j] - segments.first[j]
    f = segments.first[j] - segments.first[i]
    cross = d[:, 0] * g[:, 1] - d[:, 1] * g[:, 0]
    k = np.abs(cross) > PARALLEL_SINE * np.hypot(*d.T) * np.hypot(*g.T)
    i, j, d, g, f, cross = i[k], j[k], d[k], g[k], f[k], cross[k]
    t = (f[:, 0] * g[:, 1] - f[:, 1] * g[:, 0]) / cross
    return i, j, segments.first[i] + t[:, None] * d


def _line_arc(
    segments: Segments, i: IntArray, j: IntArray
) -> tuple[IntArray, IntArray, FloatArray]:
    """Crossings of the lines i with the circles of the arcs j, two a pair."""
    d = segments.last[i] - segments.first[i]
    d = d / np.hypot(*d.T)[:, None]
    centre, radius = segments.circles[j, :2], segments.circles[j, 2]
    f = centre - segments.first[i]
    off = np.abs(d[:, 0] * f[:, 1] - d[:, 1] * f[:, 0])
    k = radius - off > TOUCH_MM
    i, j, d, f, off, radius = i[k], j[k], d[k], f[k], off[k], radius[k]
    foot = (f * d).sum(axis=1)
    half = np.sqrt((radius - off) * (radius + off))
    points = [segments.first[i] + (foot + s * half)[:, None] * d for s in (-1.0, 1.0)]
    return np.r_[i, i], np.r_[j, j], np.vstack(points)


def _arc_arc(segments: Segments, i: IntArray, j: IntArray) -> tuple[IntArray, IntArray, FloatArray]:
    """Crossings of the circles of two arcs, two a pair; concentric ones can only overlap."""
    p, q = segments.circles[i], segments.circles[j]
    between = q[:, :2] - p[:, :2]
    d = np.hypot(*between.T)
    k = (p[:, 2] + q[:, 2] - d > TOUCH_MM) & (d - np.abs(p[:, 2] - q[:, 2]) > TOUCH_MM)
    k &= d > TOUCH_MM
    i, j, p, q, between, d = i[k], j[k], p[k], q[k], between[k], d[k]
    along = (d * d + (p[:, 2] - q[:, 2]) * (p[:, 2] + q[:, 2])) / (2 * d)
    half = np.sqrt(np.maximum((p[:, 2] - along) * (p[:, 2] + along), 0.0))
    unit = between / d[:, None]
    normal = np.column_stack([-unit[:, 1], unit[:, 0]])
    middle = p[:, :2] + along[:, None] * unit
    points = [middle + (s * half)[:, None] * normal for s in (-1.0, 1.0)]
    return np.r_[i, i], np.r_[j, j], np.vstack(points)


def cuts(segments: Segments, i: IntArray, j: IntArray) -> tuple[IntArray, FloatArray]:
    """All places (segment, point) at which segments are to be cut."""
    arc = segments.circles[:, 2] > 0
    once = i < j
    line_line = once & ~arc[i] & ~arc[j]
    line_arc = ~arc[i] & arc[j]
    arc_arc = once & arc[i] & arc[j]
    found = [
        _line_line(segments, i[line_line], j[line_line]),
        _line_arc(segments, i[line_arc], j[line_arc]),
        _arc_arc(segments, i[arc_arc], j[arc_arc]),
    ]
    a = np.concatenate([x[0] for x in found])
    b = np.concatenate([x[1] for x in found])
    points = np.vstack([x[2] for x in found])
    _, on_a = on_segment(segments.taken(a), points)
    a, b, points = a[on_a], b[on_a], points[on_a]
    _, on_b = on_segment(segments.taken(b), points)
    a, b, points = a[on_b], b[on_b], points[on_b]
    end_of, end_at = _end_cuts(segments, i, j)
    return np.concatenate([a, b, end_of]), np.vstack([points, points, end_at])


def touching_points_mm(segments: Segments, i: IntArray, j: IntArray) -> FloatArray:
    """Points (n, 2) [mm] where a line or arc i touches an arc j without crossing it."""
    arc = segments.circles[:, 2] > 0
    k = np.flatnonzero(arc[j] & (~arc[i] | (i < j)))
    i, j = i[k], j[k]
    p, q = segments.circles[i], segments.circles[j]
    along = segments.last[i] - segments.first[i]
    length = np.hypot(*along.T)
    along = along / np.where(length > 0, length, 1.0)[:, None]
    foot = ((q[:, :2] - segments.first[i]) * along).sum(axis=1)
    on_line = segments.first[i] + foot[:, None] * along
    off = np.hypot(*(on_line - q[:, :2]).T)
    between = p[:, :2] - q[:, :2]
    d = np.hypot(*between.T)
    outside = np.abs(d - (p[:, 2] + q[:, 2])) <= TOUCH_MM
    within = (np.abs(d - np.abs(p[:, 2] - q[:, 2])) <= TOUCH_MM) & (d > TOUCH_MM)
    # seen from j's centre the circles touch towards i's, or away from it where i is the larger
    side = np.where(outside | (q[:, 2] > p[:, 2]), 1.0, -1.0)
    on_arc = q[:, :2] + (side * q[:, 2] / np.where(d > 0, d, 1.0))[:, None] * between
    touch = np.where(arc[i], outside | within, np.abs(off - q[:, 2]) <= TOUCH_MM)
    points = np.where(arc[i][:, None], on_arc, on_line)
    k = np.flatnonzero(touch)
    _, on_i = on_segment(segments.taken(i[k]), points[k])
    _, on_j = on_segment(segments.taken(j[k]), points[k])
    result: FloatArray = points[k[on_i & on_j]]
    return result


def meeting_points_mm(
    first: FloatArray, last: FloatArray, circles: FloatArray, turns: FloatArray, group: IntArray
) -> FloatArray:
    """Points (n, 2) [mm] where pieces of different groups cross or touch; pieces as stored."""
    whole = (circles[:, 2] > 0) & (turns[:, 1] >= math.tau - 1e-12)
    forward = np.ones(len(group), bool)
    own = np.arange(len(group))
    segments = Segments(first, last, circles, turns, forward, whole, group, own)
    i, j = meeting_pairs(segments)
    k = group[i] != group[j]
    return cuts(segments, i[k], j[k])[1]
