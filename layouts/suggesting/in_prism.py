"""Does a pack's plan fit into a polygon: exact for each angle that is tried.

For a fixed angle the places of a convex figure within a polygon are the polygon, shifted, less
the Minkowski sum of its edges with the mirrored figure (the inner parallel set for general
figures; Serra, Image Analysis and Mathematical Morphology, 1982, erosion, from memory). A plan
of several convex pieces has the places that all pieces share, and the largest gap to the
polygon's edges is the radius of the largest circle within those places.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.pack import Side
from layouts.parts.outside import OutsidePiece
from layouts.spaces.regions import free_region
from layouts.spaces.space import Prism, Space
from layouts.suggesting.rows import Fit
from layouts.suggesting.setting import Way

__all__ = ["PlacedPlan", "fit_in_region", "place_in_polygon", "places"]

QUARTERS = {Side.PLUS_X: 0, Side.PLUS_Y: 1, Side.MINUS_X: 2, Side.MINUS_Y: 3}
MOST_ANGLES = 6  # directions of the longest edges; a plan rarely fits at others alone
ANGLE_DEG = 0.01  # edges whose directions differ by less are parallel
LEVELS = 5  # heights that are tried in a space that is no plain prism
KEPT = 64  # spaces and heights whose regions are kept: a sweep has one space, few heights
# Figures are drawn in by this much, so that places that are a line or a point are found too
SLACK_MM = 1e-4
GAP_OFF_MM = 0.05  # largest circles are found to within this: gaps are reported too small by it
MISS_STEPS = 8  # halvings to find by how much a plan misses
MOST_MISS_MM = 200.0


@dataclass(frozen=True, kw_only=True, slots=True)
class PlacedPlan:
    """A plan placed in a polygon: turned by ``angle_deg``, then shifted; gap to its edges."""

    angle_deg: float
    shift_mm: tuple[float, float]
    gap_mm: float


def places(region: BaseGeometry, figures: Sequence[NDArray[np.float64]]) -> BaseGeometry:
    """All shifts with which every convex figure (n, 2) lies within the region; may be empty."""
    left: BaseGeometry | None = None
    for figure in sorted(figures, key=lambda points: -float(np.ptp(points, axis=0).prod())):
        found = _places_of(region, figure)
        left = found if left is None else shapely.intersection(left, found)
        if left.is_empty:
            return left
    if left is None:
        raise ValueError("there are no places for a plan without figures")
    return left


def place_in_polygon(
    region: BaseGeometry, pieces: Sequence[OutsidePiece], *, start_deg: float
) -> PlacedPlan | None:
    """The place with the largest gap, at ``start_deg`` or turned to an edge; None where none is.

    Turns go up to 45 degrees either way from ``start_deg``: past that it is another quarter.
    """
    best: PlacedPlan | None = None
    for off in _angles_deg(region):
        angle = math.radians(start_deg + off)
        turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
        found = places(region, [piece.corners_mm @ turn for piece in pieces])
        if found.is_empty:
            continue
        circle = shapely.maximum_inscribed_circle(found, tolerance=GAP_OFF_MM)
        gap = float(shapely.length(circle))
        x, y = shapely.get_coordinates(circle)[0].tolist()
        if best is None or round(gap, 3) > round(best.gap_mm, 3):
            best = PlacedPlan(angle_deg=start_deg + off, shift_mm=(x, y), gap_mm=gap)
    return best


def fit_in_region(
    pieces: Sequence[OutsidePiece], space: Space, way: Way, *, measure_miss: bool = False
) -> Fit:
    """How a pack stands in a space that is no box, seen along the cells, at the best height.

    Where it stands nowhere though its box would, the gap is ``-MOST_MISS_MM``; with
    ``measure_miss`` it is how far the space's sides would have to move out, to within
    a millimetre, which takes its time.
    """
    low, high = min(p.z0_mm for p in pieces), max(p.z1_mm for p in pieces)
    room, tall = space.box_mm, high - low
    spare_z = room[2] - tall
    sizes = np.ptp(np.vstack([p.corners_mm for p in pieces]), axis=0)
    if way.side in (Side.PLUS_Y, Side.MINUS_Y):
        sizes = sizes[::-1]
    spare = (float(room[0] - sizes[0]), float(room[1] - sizes[1]), float(spare_z))
    start = 90.0 * QUARTERS[way.side]
    if spare_z < 0:
        return Fit(way=way, gap_mm=min(spare), spare_mm=spare)
    best: PlacedPlan | None = None
    figures = _simpler(pieces)
    least_miss = math.inf
    for region in _regions(space, round(tall, 3)):
        found = place_in_polygon(region, figures, start_deg=start)
        if found is None:
            if measure_miss:
                least_miss = min(least_miss, _miss_mm(region, figures, start))
        elif best is None or found.gap_mm > best.gap_mm:
            best = found
    if best is None:
        return Fit(way=way, gap_mm=-min(least_miss, MOST_MISS_MM), spare_mm=spare)
    off = best.angle_deg - start
    return Fit(way=way, gap_mm=min(best.gap_mm, spare_z), spare_mm=spare, angle_deg=off)


@lru_cache(maxsize=KEPT)
def _regions(space: Space, tall_mm: float) -> tuple[BaseGeometry, ...]:
    """The free plans that a pack of this height finds at some heights; equal ones once.

    In a prism with nothing in it there is one, above the floor.
    """
    low, spare = space.low_mm[2], space.box_mm[2] - tall_mm
    plain = isinstance(space.room, Prism) and not space.keep_out
    count = 1 if plain or spare <= 0 else LEVELS
    found: list[BaseGeometry] = []
    for k in range(count):
        z = low + max(spare, 0.0) * k / max(count - 1, 1)
        region = free_region(space, z, z + tall_mm)
        if not region.is_empty and not any(region.equals(other) for other in found):
            found.append(region)
    return tuple(found)


def _simpler(pieces: Sequence[OutsidePiece]) -> list[OutsidePiece]:
    """Those pieces whose plan is not within another's."""
    kept: list[tuple[shapely.Polygon, OutsidePiece]] = []
    for piece in sorted(pieces, key=lambda p: -float(np.ptp(p.corners_mm, axis=0).prod())):
        shape = shapely.Polygon(piece.corners_mm)
        if not any(other.covers(shape) for other, _ in kept):
            kept.append((shape, piece))
    return [piece for _, piece in kept]


def _places_of(region: BaseGeometry, figure: NDArray[np.float64]) -> BaseGeometry:
    """All shifts with which one convex figure lies within the region."""
    middle = figure.mean(axis=0)
    reach = figure - middle
    size = np.hypot(*reach.T)
    drawn_in = reach * np.maximum(0.0, 1.0 - SLACK_MM / np.maximum(size, SLACK_MM))[:, None]
    starts, ends = _edges(region)
    # an edge's sum with the mirrored figure: the hull of both of its ends' copies
    clouds = np.concatenate(
        [starts[:, None, :] - drawn_in[None], ends[:, None, :] - drawn_in[None]], axis=1
    )
    near = shapely.convex_hull(shapely.multipoints(clouds))
    left = shapely.difference(region, shapely.union_all(near))
    moved: BaseGeometry = shapely.transform(left, lambda xy: xy - middle)
    return moved


def _edges(region: BaseGeometry) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(e, 2) starts and ends of all edges of a polygon or several, holes too."""
    parts = [p for p in shapely.get_parts(region) if p.geom_type == "Polygon"]
    rings = [
        shapely.get_coordinates(ring) for part in parts for ring in (part.exterior, *part.interiors)
    ]
    return np.vstack([r[:-1] for r in rings]), np.vstack([r[1:] for r in rings])


def _angles_deg(region: BaseGeometry) -> list[float]:
    """Turns that are tried, -45 to 45: none, and onto the longest edges."""
    starts, ends = _edges(region)
    ways = ends - starts
    folded = (np.degrees(np.arctan2(ways[:, 1], ways[:, 0])) + 45.0) % 90.0 - 45.0
    longest = np.argsort(-np.hypot(*ways.T), kind="stable")
    found = [0.0]
    for turn in folded[longest].tolist():
        apart = min(abs((turn - other + 45.0) % 90.0 - 45.0) for other in found)
        if apart > ANGLE_DEG and len(found) < MOST_ANGLES:
            found.append(turn)
    return found


def _miss_mm(region: BaseGeometry, pieces: Sequence[OutsidePiece], start_deg: float) -> float:
    """By how much the polygon's edges would have to move out for the plan to fit."""
    least, most = 0.0, MOST_MISS_MM
    for _ in range(MISS_STEPS):
        middle = (least + most) / 2
        grown = region.buffer(middle, join_style="mitre")
        if place_in_polygon(grown, pieces, start_deg=start_deg) is None:
            least = middle
        else:
            most = middle
    return most
