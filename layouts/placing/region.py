"""Where centres may lie: the cavity less a margin along every wall.

The margin is taken off exactly along straight walls. Round a corner that points into the
cavity it is bounded by a chain of tangents, so the region errs on the safe side there, by at
most reach * (1 / cos(quarter turn / (2 * ARC_STEPS)) - 1): 0.3 um on 1 mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, cos, isfinite, pi
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.polygon import orient
from shapely.validation import explain_validity

__all__ = ["TOUCH_MM", "Region", "confirmed", "polygons_of", "region_of"]

Cavity: TypeAlias = Polygon | MultiPolygon

TOUCH_MM = 1e-9  # a wall may be touched: float noise is 1e-12, any printed detail 1e-2
ARC_STEPS = 32  # tangents a quarter turn


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Region:
    """The cavity and the region of centres in it.

    ``inner``: centres may lie here, walls touched. ``outer``: the same grown by less than
    ``TOUCH_MM``, to count what touches in spite of float noise. ``inner_edges``,
    ``outer_edges`` (m, 4): x, y of start and end of each edge, the region at its left, all
    relative to ``middle_mm``.
    """

    cavity: Cavity
    reach_mm: float
    inner: Cavity
    outer: Cavity
    inner_edges: NDArray[np.float64]
    outer_edges: NDArray[np.float64]
    middle_mm: NDArray[np.float64]

    @property
    def is_empty(self) -> bool:
        """Whether no centre can lie in it."""
        return len(self.outer_edges) == 0


def region_of(cavity: Cavity, *, reach_mm: float) -> Region:
    """The region of centres that keep ``reach_mm`` from every wall of the cavity.

    Raises ValueError where the cavity is no valid polygon or the reach is not above zero.
    """
    if not isinstance(cavity, Polygon | MultiPolygon):
        raise ValueError(f"cavity: must be a polygon, is a {type(cavity).__name__}")
    if not cavity.is_valid:
        raise ValueError(f"cavity: not a valid polygon: {explain_validity(cavity)}")
    if not (isfinite(reach_mm) and reach_mm > TOUCH_MM):
        raise ValueError(f"reach_mm: must be above 0, is {reach_mm}")
    inner = _eroded(cavity, reach_mm - TOUCH_MM * 0.4)
    outer = _eroded(cavity, reach_mm - TOUCH_MM * 0.8)
    middle = np.zeros(2)
    if not outer.is_empty:
        low_x, low_y, high_x, high_y = outer.bounds
        middle = np.array([low_x + high_x, low_y + high_y]) / 2
    return Region(
        cavity=cavity,
        reach_mm=reach_mm,
        inner=inner,
        outer=outer,
        inner_edges=_edges(inner, middle),
        outer_edges=_edges(outer, middle),
        middle_mm=middle,
    )


def confirmed(region: Region, xy_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
    """(n,) whether each centre lies in the cavity and keeps the reach, within ``TOUCH_MM``.

    Asked of the true cavity, not of the region: nothing that the region's making may have lost
    or gained counts here.
    """
    if not len(xy_mm):
        return np.zeros(0, dtype=bool)
    inside = shapely.contains_xy(region.cavity, xy_mm[:, 0], xy_mm[:, 1])
    apart = shapely.distance(shapely.points(xy_mm), region.cavity.boundary)
    return np.asarray(inside & (apart >= region.reach_mm - TOUCH_MM), dtype=bool)


def polygons_of(shape: object) -> list[Polygon]:
    """The polygons in a shape, which may be a collection; lines and points are left out."""
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    return [one for part in getattr(shape, "geoms", ()) for one in polygons_of(part)]


def _eroded(cavity: Cavity, reach_mm: float) -> Cavity:
    """The cavity without what lies nearer than ``reach_mm`` to its boundary."""
    if cavity.is_empty:
        return MultiPolygon()
    margins = [
        piece
        for polygon in polygons_of(cavity)
        for ring in (lambda p: (p.exterior, *p.interiors))(orient(polygon))
        for piece in _margins(np.asarray(ring.coords)[:-1, :2], reach_mm)
    ]
    left = shapely.difference(cavity, shapely.union_all(margins))
    return MultiPolygon(polygons_of(left))


def _margins(corners: NDArray[np.float64], reach_mm: float) -> list[Polygon]:
    """Strips along the walls of a ring, cavity at its left, and fans round inward corners."""
    ahead = np.roll(corners, -1, axis=0) - corners
    length = np.hypot(ahead[:, 0], ahead[:, 1])
    corners, ahead, length = corners[length > 0], ahead[length > 0], length[length > 0]
    ends = np.roll(corners, -1, axis=0)
    normal = np.column_stack([-ahead[:, 1], ahead[:, 0]]) / length[:, None]
    strips = np.stack(
        [corners, ends, ends + reach_mm * normal, corners + reach_mm * normal], axis=1
    )
    found: list[Polygon] = list(shapely.polygons(strips))
    before = np.roll(normal, 1, axis=0)
    turn = np.arctan2(
        before[:, 0] * normal[:, 1] - before[:, 1] * normal[:, 0],
        (before * normal).sum(axis=1),
    )
    for at in np.flatnonzero(turn < 0):
        found.append(_fan(corners[at], before[at], normal[at], -float(turn[at]), reach_mm))
    return found


def _fan(
    corner: NDArray[np.float64],
    before: NDArray[np.float64],
    after: NDArray[np.float64],
    turn_rad: float,
    reach_mm: float,
) -> Polygon:
    """The margin round one inward corner: bounded by tangents, the first and last included."""
    count = ceil(turn_rad / (pi / 2) * ARC_STEPS)
    start = np.arctan2(before[1], before[0])
    middles = start - turn_rad * (np.arange(count) + 0.5) / count
    far = reach_mm / cos(turn_rad / count / 2)
    chain = corner + far * np.column_stack([np.cos(middles), np.sin(middles)])
    return Polygon(
        np.vstack([corner, corner + reach_mm * before, chain, corner + reach_mm * after])
    )


def _edges(shape: Cavity, middle: NDArray[np.float64]) -> NDArray[np.float64]:
    """(m, 4) edges of all rings, the region at their left."""
    found = []
    for polygon in polygons_of(shape):
        solid = orient(polygon)
        for ring in (solid.exterior, *solid.interiors):
            points = np.asarray(ring.coords)[:, :2] - middle
            found.append(np.hstack([points[:-1], points[1:]]))
    return np.vstack(found) if found else np.empty((0, 4))
