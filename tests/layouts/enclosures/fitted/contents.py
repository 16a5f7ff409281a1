"""Invented contents of a fitted enclosure, and their closing by another way, in chords."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.enclosures.fitted.figures import RoundedRect
from layouts.parts.shell import Rect
from layouts.slabs.profile import Line, Loop, Segment, segment_end, segment_start

BALL_MM = 4.4
PITCH_MM = 23.0


def room(x0: float, y0: float, x1: float, y1: float, corner_mm: float = 3.0) -> RoundedRect:
    """A room from its corners."""
    return RoundedRect(Rect(x0=x0, y0=y0, x1=x1, y1=y1), corner_mm)


def honeycomb(rows: int, columns: int, radius_mm: float = 13.775) -> NDArray[np.float64]:
    """Discs of a honeycomb, every second row half a pitch to the right."""
    return np.array(
        [
            (PITCH_MM * (k + 0.5 * (row % 2)), PITCH_MM * math.sqrt(3) / 2 * row, radius_mm)
            for row in range(rows)
            for k in range(columns)
        ]
    )


def field_with_rooms() -> tuple[NDArray[np.float64], tuple[RoundedRect, ...]]:
    """40 cells and five rooms round them."""
    rooms = (
        room(-20, 100, 42, 126),
        room(50, 95, 90, 130),
        room(186, 10, 204, 70),
        room(184, 75, 214, 101),
        room(0, -30, 100, -12),
    )
    return honeycomb(5, 8), rooms


def grown_shapes(
    discs: NDArray[np.float64],
    rooms: tuple[RoundedRect, ...],
    by_mm: float,
    quarter: int,
) -> list[shapely.Polygon]:
    """Every figure grown, in chords."""
    shapes = [shapely.Point(x, y).buffer(r + by_mm, quad_segs=quarter) for x, y, r in discs]
    for one in rooms:
        inner = one.rect.grown(-one.corner_radius_mm)
        core = shapely.box(inner.x0, inner.y0, inner.x1, inner.y1)
        shapes.append(core.buffer(one.corner_radius_mm + by_mm, quad_segs=quarter))
    return shapes


def closing(
    discs: NDArray[np.float64],
    rooms: tuple[RoundedRect, ...],
    ball_mm: float,
    quarter: int = 150,
) -> shapely.Geometry:
    """All figures grown, holes filled, shrunk again: several parts where a neck breaks."""
    union = shapely.union_all(grown_shapes(discs, rooms, ball_mm, quarter))
    filled = [shapely.Polygon(part.exterior) for part in shapely.get_parts(union)]
    return shapely.union_all(filled).buffer(-ball_mm, quad_segs=quarter)


def directions_rad(segment: Segment) -> tuple[float, float]:
    """Directions in which a segment begins and ends."""
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment.start, segment.end
        way = math.atan2(y1 - y0, x1 - x0)
        return way, way
    side = math.copysign(math.pi / 2, segment.sweep_rad)
    return segment.start_rad + side, segment.start_rad + segment.sweep_rad + side


def assert_tangent(loop: Loop) -> None:
    """Each segment ends where the next begins, in the same direction; the loop turns once."""
    for one, after in zip(loop, loop[1:] + loop[:1], strict=True):
        assert math.dist(segment_end(one), segment_start(after)) < 2e-7
        bend = directions_rad(one)[1] - directions_rad(after)[0]
        assert abs(math.remainder(bend, math.tau)) < 1e-9
    sweeps = [segment.sweep_rad for segment in loop if not isinstance(segment, Line)]
    assert math.isclose(sum(sweeps), math.tau, abs_tol=1e-9)


def samples(loop: Loop, a_segment: int = 5) -> NDArray[np.float64]:
    """Points (n, 2) on the loop itself, ends included [mm]."""
    points = []
    for segment in loop:
        for share in np.linspace(0.0, 1.0, a_segment):
            if isinstance(segment, Line):
                start, end = np.array(segment.start), np.array(segment.end)
                points.append(tuple(start + share * (end - start)))
            else:
                points.append(segment.at(segment.start_rad + share * segment.sweep_rad))
    return np.array(points)
