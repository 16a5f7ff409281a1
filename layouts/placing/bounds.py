"""Bounds: more cells than this cannot go in, however they are placed.

Centres lie in the region E, each two at least the pitch p apart. Every bound here holds for any
such set of points:

- convex: 2 A / (sqrt(3) p^2) + U / (2 p) + 1, A area and U perimeter of a convex set that holds
  E (H. Groemer, Ueber die Einlagerung von Kreisen in einen konvexen Bereich, Math. Z. 73, 1960;
  also N. Oler, Acta Math. 105, 1961). Where E is not convex it is cut by straight lines and the
  bounds of the pieces' convex hulls are added: a point lies in one piece at least.
- area: area(E grown by p / sqrt(3)) / (sqrt(3) / 2 p^2). The Voronoi cell of a point, cut off
  at the distance p / sqrt(3), is never smaller than the regular hexagon of the honeycomb
  (L. Fejes Toth, Lagerungen in der Ebene, auf der Kugel und im Raum, 1953): its sides stand
  p/2 or more from the point and its corners p / sqrt(3) or more, so what they cut off that disc
  are at most six segments' worth that do not overlap.
- discs and squares: the least proven circle or square for each number of equal discs, where E
  lies in one (``layouts/tables/circle_packings.csv``).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, pi, sqrt

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from layouts.placing.packings import most_in_circle, most_in_square
from layouts.placing.region import Region, polygons_of

__all__ = ["Bound", "bound_of"]

ROUNDING = 1e-9  # a bound of 12.9999999999 is 13: floor must not lose a cell to float noise
GROW_STEPS = 16  # chords a quarter turn when growing; the chords' loss is made good
GROW_SPARE = 1.01  # the library's growing may smooth shallow dents by 1 % of the distance
CUTS = 4  # straight cuts, one after the other, looked for in an outline that is not convex
LINES = 12  # walls tried for each cut


@dataclass(frozen=True, kw_only=True, slots=True)
class Bound:
    """``most`` cells at the utmost, and ``name``: by which argument."""

    most: int
    name: str


def bound_of(region: Region, *, pitch_mm: float) -> Bound:
    """The least of the bounds, the earlier one where two are alike."""
    if region.is_empty:
        return Bound(most=0, name="no position keeps the distance to the walls")
    outer = region.outer
    found = [
        Bound(most=_floored(area_bound(outer, pitch_mm)), name="area of Voronoi cells"),
        Bound(most=_floored(_cut_bound(outer, pitch_mm, CUTS)), name="Groemer's area bound"),
    ]
    disc = most_in_circle(float(shapely.minimum_bounding_radius(outer)), pitch_mm=pitch_mm)
    square = most_in_square(_square_side_mm(outer), pitch_mm=pitch_mm)
    if disc is not None:
        found.append(Bound(most=disc, name="proven packing of a circle"))
    if square is not None:
        found.append(Bound(most=square, name="proven packing of a square"))
    return min(found, key=lambda bound: bound.most)


def convex_bound(shape: object, pitch_mm: float) -> float:
    """Groemer's bound of a shape's convex hull."""
    hull = shapely.convex_hull(shape)
    around = hull.length if isinstance(hull, Polygon) else 2 * hull.length
    return float(2 * hull.area / (sqrt(3) * pitch_mm**2) + around / (2 * pitch_mm) + 1)


def area_bound(shape: Polygon | MultiPolygon, pitch_mm: float) -> float:
    """Voronoi cells cut off at p / sqrt(3): grown area over a hexagon's."""
    # a chain of chords lies inside its circle by 1 - cos(half step): grow by that much more
    far = pitch_mm / sqrt(3) / np.cos(pi / 4 / GROW_STEPS) * GROW_SPARE
    grown = shape.buffer(far, quad_segs=GROW_STEPS)
    return float(grown.area / (sqrt(3) / 2 * pitch_mm**2))


def _floored(bound: float) -> int:
    return floor(bound + ROUNDING)


def _cut_bound(shape: Polygon | MultiPolygon, pitch_mm: float, cuts: int) -> float:
    """Groemer's bound, the shape cut along walls where that lowers the sum."""
    parts = polygons_of(shape)
    if len(parts) > 1:
        apart = sum(_cut_bound(part, pitch_mm, cuts) for part in parts)
        return min(convex_bound(shape, pitch_mm), apart)
    whole = convex_bound(shape, pitch_mm)
    if not parts or not cuts or shapely.convex_hull(shape).area - shape.area < pitch_mm**2 / 4:
        return whole
    tried: list[tuple[float, int, list[MultiPolygon]]] = []
    for line in _walls(parts[0], pitch_mm):
        halves = _halves(parts[0], line)
        tried.append((sum(convex_bound(half, pitch_mm) for half in halves), len(tried), halves))
    if not tried:
        return whole
    least, _, halves = min(tried)
    if least >= whole:
        return whole
    return min(least, sum(_cut_bound(half, pitch_mm, cuts - 1) for half in halves))


def _walls(polygon: Polygon, pitch_mm: float) -> list[NDArray[np.float64]]:
    """The longest walls (2, 2), longest first."""
    rings = (polygon.exterior, *polygon.interiors)
    ends = np.vstack(
        [np.hstack([r[:-1], r[1:]]) for r in (np.asarray(ring.coords) for ring in rings)]
    )
    length = np.hypot(ends[:, 2] - ends[:, 0], ends[:, 3] - ends[:, 1])
    order = np.lexsort((np.arange(len(length)), -length))[:LINES]
    return [ends[at].reshape(2, 2) for at in order if length[at] > pitch_mm / 4]


def _halves(polygon: Polygon, line: NDArray[np.float64]) -> list[MultiPolygon]:
    """What lies left and right of an infinite line."""
    low_x, low_y, high_x, high_y = polygon.bounds
    far = 4 * (high_x - low_x + high_y - low_y)
    along = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    across = np.array([-along[1], along[0]])
    a, b = line[0] - far * along, line[0] + far * along
    found = []
    for side in (across, -across):
        half = Polygon([a, b, b + far * side, a + far * side])
        found.append(MultiPolygon(polygons_of(shapely.intersection(polygon, half))))
    return [half for half in found if not half.is_empty]


def _square_side_mm(shape: Polygon | MultiPolygon) -> float:
    """Longer side of the least rectangle that holds the shape: a square of it holds it too."""
    box = shapely.oriented_envelope(shape)
    points = shapely.get_coordinates(box)
    if len(points) < 4:
        return float(box.length)
    sides = np.hypot(*np.diff(points[:3], axis=0).T)
    return float(sides.max())
