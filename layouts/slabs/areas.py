"""Exact areas of plans made of straight edges and true arcs.

Everything here is a closed form. ``shapely`` is used for straight-edged polygons alone, where it
is exact to rounding; arcs never become chords. The parts' volume formulas stand on these, so that
they share nothing with the solids that they are checked against.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

__all__ = [
    "ArcChain",
    "TangentArc",
    "edges_of",
    "polygon_disc_area_mm2",
    "polygon_discs_area_mm2",
    "polygon_outline_area_mm2",
    "polygon_sector_area_mm2",
    "segment_area_mm2",
    "union_of_quads",
]

CHUNK = 2_000_000  # edge-disc pairs worked on at once: some 100 MB
WEDGE_RAD = math.pi / 2  # a sector is cut into wedges no wider, so that each is a plain triangle


class TangentArc(Protocol):
    """One arc of a chain; ``sweep_rad`` > 0: convex, walked counter-clockwise."""

    @property
    def centre_mm(self) -> tuple[float, float]:
        """Its circle's centre."""
        ...

    @property
    def radius_mm(self) -> float:
        """Its circle's radius."""
        ...

    @property
    def start_rad(self) -> float:
        """Where it begins, seen from its centre."""
        ...

    @property
    def sweep_rad(self) -> float:
        """From there on."""
        ...


class ArcChain(Protocol):
    """A closed chain of arcs, each tangent to the next, walked counter-clockwise."""

    @property
    def arcs(self) -> Sequence[TangentArc]:
        """All of them in order."""
        ...


def edges_of(shape: BaseGeometry) -> NDArray[np.float64]:
    """Edges (m, 4: x0, y0, x1, y1) of a polygon or several; the inside lies left of each.

    Empty shapes, lines and points give (0, 4).
    """
    rings: list[NDArray[np.float64]] = []
    for part in shapely.get_parts(shape):
        if part.geom_type != "Polygon" or part.is_empty:
            if part.geom_type in ("MultiPolygon", "GeometryCollection"):
                rings.append(edges_of(part))
            continue
        for number, ring in enumerate((part.exterior, *part.interiors)):
            points = shapely.get_coordinates(ring)
            if (_shoelace(points[:-1]) > 0) != (number == 0):
                points = points[::-1]
            rings.append(np.hstack([points[:-1], points[1:]]))
    edges = np.vstack(rings) if rings else np.zeros((0, 4))
    # doubled corners make no edge
    return np.asarray(edges[(edges[:, :2] != edges[:, 2:]).any(axis=1)])


def polygon_disc_area_mm2(
    shape: BaseGeometry, centre_mm: tuple[float, float], radius_mm: float
) -> float:
    """Area that a straight-edged shape and a disc share [mm2]."""
    return float(polygon_discs_area_mm2(shape, [centre_mm], radius_mm)[0])


def polygon_discs_area_mm2(
    shape: BaseGeometry, centres_mm: ArrayLike, radius_mm: float | NDArray[np.float64]
) -> NDArray[np.float64]:
    """Areas (n,) [mm2] that a straight-edged shape shares with each of n discs.

    ``centres_mm`` (n, 2); one radius for all, or (n,). Sum over the shape's edges of the signed
    area between edge and centre: inside the disc a triangle, half the cross product; outside it a
    sector, half radius squared times the angle seen from the centre (plane geometry).
    """
    centres = np.asarray(centres_mm, dtype=np.float64).reshape(-1, 2)
    radii = np.broadcast_to(np.asarray(radius_mm, dtype=np.float64), (len(centres),))
    edges = edges_of(shape)
    areas = np.zeros(len(centres))
    if not len(edges):
        return areas
    step = max(1, CHUNK // len(edges))
    for first in range(0, len(centres), step):
        part = slice(first, first + step)
        areas[part] = _disc_areas(edges, centres[part], radii[part])
    return areas


def _disc_areas(
    edges: NDArray[np.float64], centres: NDArray[np.float64], radii: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(n,) areas of the shape bounded by the edges within each disc."""
    px = edges[None, :, 0] - centres[:, 0, None]
    py = edges[None, :, 1] - centres[:, 1, None]
    qx = edges[None, :, 2] - centres[:, 0, None]
    qy = edges[None, :, 3] - centres[:, 1, None]
    square = radii[:, None] ** 2
    dx, dy = qx - px, qy - py
    length = np.hypot(dx, dy)
    some = np.where(length > 0.0, length, 1.0)  # an edge of no length (float noise) adds nothing
    ux, uy = dx / some, dy / some
    along = px * ux + py * uy  # from the foot of the perpendicular to p
    off = px * uy - py * ux  # distance of the edge's line from the centre, signed
    half = np.sqrt(np.maximum(square - off * off, 0.0))
    enter = np.clip(-along - half, 0.0, length)  # way along the edge where the disc begins and ends
    leave = np.clip(-along + half, 0.0, length)
    # the edge's own end where the disc holds it: one a hair beside it, next to the centre, would
    # be seen from there under any angle
    ax = np.where(enter < length, px + enter * ux, qx)
    ay = np.where(enter < length, py + enter * uy, qy)
    bx = np.where(leave < length, px + leave * ux, qx)
    by = np.where(leave < length, py + leave * uy, qy)
    inside = off * (leave - enter)  # twice the triangle; 0 where the edge misses the disc
    arc = _angle(px, py, ax, ay) + _angle(bx, by, qx, qy)
    missed = half <= 0.0
    arc = np.where(missed, _angle(px, py, qx, qy), arc)
    inside = np.where(missed, 0.0, inside)
    return np.asarray(0.5 * (inside + square * arc).sum(axis=1))


def _angle(
    ax: NDArray[np.float64],
    ay: NDArray[np.float64],
    bx: NDArray[np.float64],
    by: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Signed angle from a to b seen from the origin [rad]."""
    return np.asarray(np.arctan2(ax * by - ay * bx, ax * bx + ay * by))


def polygon_sector_area_mm2(
    shape: BaseGeometry,
    centre_mm: tuple[float, float],
    radius_mm: float,
    start_rad: float,
    sweep_rad: float,
) -> float:
    """Area that a straight-edged shape shares with a sector of a disc [mm2], never negative.

    The sector runs from ``start_rad`` by ``sweep_rad`` (either way round, up to a whole turn). The
    shape is cut by the wedge first (straight edges), the rest by the disc.
    """
    if abs(sweep_rad) >= math.tau:
        return polygon_disc_area_mm2(shape, centre_mm, radius_mm)
    count = max(1, math.ceil(abs(sweep_rad) / WEDGE_RAD - 1e-12))
    reach = 1.1 * radius_mm / math.cos(sweep_rad / count / 2)  # far edge stays outside the disc
    angles = start_rad + sweep_rad * np.arange(count + 1) / count
    x = centre_mm[0] + reach * np.cos(angles)
    y = centre_mm[1] + reach * np.sin(angles)
    total = 0.0
    for k in range(count):
        wedge = shapely.polygons([centre_mm, (x[k], y[k]), (x[k + 1], y[k + 1])])
        total += polygon_disc_area_mm2(shapely.intersection(shape, wedge), centre_mm, radius_mm)
    return total


def segment_area_mm2(radius_mm: float, chord_off_mm: float) -> float:
    """Area of a disc beyond a chord that far from its centre [mm2]; the larger part if < 0."""
    r, d = radius_mm, max(-radius_mm, min(radius_mm, chord_off_mm))
    return r * r * math.acos(d / r) - d * math.sqrt(max(0.0, r * r - d * d))


def union_of_quads(quads_mm: NDArray[np.float64]) -> BaseGeometry:
    """The shape covered by (m, 4, 2) quadrilaterals; empty for none."""
    if not len(quads_mm):
        return shapely.Polygon()
    return shapely.union_all(shapely.polygons(np.asarray(quads_mm, dtype=np.float64)))


def _shoelace(points: NDArray[np.float64]) -> float:
    """Signed area of a closed ring given without its repeated last point."""
    if len(points) < 3:
        return 0.0
    x, y = (points - points[0]).T  # far from the origin the products would lose digits
    return float(0.5 * (x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


def _arc_centres(outline: ArcChain) -> NDArray[np.float64]:
    """(k, 2) centres of the outline's arcs in order: discs' and ball's."""
    return np.array([arc.centre_mm for arc in outline.arcs], dtype=np.float64).reshape(-1, 2)


def polygon_outline_area_mm2(shape: BaseGeometry, outline: ArcChain) -> float:
    """Area that a straight-edged shape shares with the inside of an outline [mm2].

    Neighbouring arcs of a closed chain touch on the line that joins their centres, so its area
    is the polygon of the centres, plus half R squared times the sweep of each convex arc, less
    that of each concave one (plane geometry); here each part is cut by the shape. Where the
    chain of centres meets itself (a single row of cells) its inside is taken as signed triangles.
    """
    if shape.is_empty:
        return 0.0
    total = _polygon_chain_area(shape, _arc_centres(outline))
    boxes = shapely.box(
        *np.array(
            [
                (x - r, y - r, x + r, y + r)
                for (x, y), r in ((arc.centre_mm, arc.radius_mm) for arc in outline.arcs)
            ]
        ).T
    )
    shapely.prepare(shape)
    for k in np.flatnonzero(shapely.intersects(shape, boxes)):
        arc = outline.arcs[int(k)]
        area = polygon_sector_area_mm2(
            shapely.intersection(shape, boxes[k]),
            arc.centre_mm,
            arc.radius_mm,
            arc.start_rad,
            arc.sweep_rad,
        )
        total += math.copysign(area, arc.sweep_rad)
    return total


def _polygon_chain_area(shape: BaseGeometry, chain: NDArray[np.float64]) -> float:
    """Area of a shape within a closed chain of points, by winding number."""
    if len(chain) < 3:
        return 0.0
    ring = shapely.Polygon(chain)
    if ring.is_valid:
        return math.copysign(float(shapely.intersection(shape, ring).area), _shoelace(chain))
    after = np.roll(chain, -1, axis=0)
    apex = np.broadcast_to(chain[0], chain.shape)
    twice = (chain[:, 0] - apex[:, 0]) * (after[:, 1] - apex[:, 1]) - (chain[:, 1] - apex[:, 1]) * (
        after[:, 0] - apex[:, 0]
    )
    flat = np.abs(twice) < 1e-12
    triangles = shapely.polygons(np.stack([apex, chain, after], axis=1)[~flat])
    shared = shapely.area(shapely.intersection(shape, triangles))
    return float((np.sign(twice[~flat]) * shared).sum())
