"""A part's drawing: its features, the body that they make, and the bores still to be cut.

Volume, outside and convex pieces are read off it; solid and mesh are made from it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.errors import PlanError
from layouts.parts.convex import ConvexPiece, moved_piece, prism
from layouts.parts.feature import Effect, Feature, drawn
from layouts.slabs.body import Body
from layouts.slabs.bore import Bore
from layouts.slabs.cones_and_engraving import Cone, Engraved
from layouts.slabs.errors import SolidError
from layouts.slabs.profile import Arc, Line, Loop, loop_points_mm

__all__ = ["CHORD_MM", "Box", "Drawing", "drawing_of", "placed_box_mm"]

# Chords stand off their arcs by at most this; polygons keep the arc's own area besides.
CHORD_MM = 0.02
FINE_MM = 0.005  # chords of the polygons round a part

Box = tuple[tuple[float, float, float], tuple[float, float, float]]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Drawing:
    """``features`` in their order, ``body`` as they make it, ``bores`` not yet cut from it."""

    features: tuple[Feature, ...]
    body: Body
    bores: tuple[Bore, ...] = ()

    def volume_mm3(self) -> float:
        """Volume of the finished part, bores taken off [mm3]; exact for arcs."""
        return self.body.volume_mm3() - math.fsum(bore.volume_mm3 for bore in self.bores)

    def box_mm(self) -> Box:
        """Least and greatest corner in the part's own coordinates; exact for arcs."""
        return self.body.box_mm()

    def convex_pieces(self, matrix: NDArray[np.float64]) -> tuple[ConvexPiece, ...]:
        """Convex pieces that hold all of the part's material, put in place by a (4, 4) matrix.

        What is added, as prisms; rounds become polygons that no mesh of ``CHORD_MM`` leaves.
        What is cut away is not left out of them.
        """
        return tuple(
            moved_piece(prism(ring, feature.z0_mm, feature.z1_mm), matrix)
            for feature in self.features
            if feature.effect is Effect.ADD
            for loop in feature.loops
            for ring in convex_rings(loop)
        )


def drawing_of(
    features: Sequence[Feature],
    *,
    part: str,
    field: str,
    bores: Sequence[Bore] = (),
    cones: Sequence[Cone] = (),
    cones_z0_mm: float | None = None,
    engraved: Sequence[Engraved] = (),
    order: Sequence[str] = (),
) -> Drawing:
    """Draw features; all but ``part`` and ``field`` as of ``feature.drawn``.

    Raises PlanError, naming the part and the pack file's ``field`` that its sizes come from, where
    they make no one sound body.
    """
    try:
        body = drawn(features, cones=cones, cones_z0_mm=cones_z0_mm, engraved=engraved, order=order)
    except SolidError as error:
        raise PlanError(
            field=field,
            why=f"gives a part that can't be drawn, {part}: {error.what}",
            remedy=f"{error.remedy}, or change a size of this section a little",
        ) from error
    return Drawing(features=tuple(features), body=body, bores=tuple(bores))


def placed_box_mm(box: Box, matrix: NDArray[np.float64]) -> NDArray[np.float64]:
    """(2, 3) least and greatest corner of a box put in place by a (4, 4) matrix."""
    (x0, y0, z0), (x1, y1, z1) = box
    corners = np.array([(x, y, z) for x in (x0, x1) for y in (y0, y1) for z in (z0, z1)])
    there = corners @ matrix[:3, :3].T + matrix[:3, 3]
    return np.stack([there.min(axis=0), there.max(axis=0)])


def convex_rings(loop: Loop) -> list[list[tuple[float, float]]]:
    """A loop as convex polygons, counter-clockwise, that hold all that it encloses.

    A loop with arcs is grown, so that corners of meshes, which stand off its arcs by up to
    ``CHORD_MM``, lie within; along x and y by no more. One that is not convex falls into triangles.
    """
    grown = _grown(loop) if any(isinstance(one, Arc) for one in loop) else _shape(loop)
    whole = grown.convex_hull
    if whole.area - grown.area <= CHORD_MM * grown.length:
        return [_ring(whole)]
    return [_ring(one) for one in shapely.get_parts(shapely.constrained_delaunay_triangles(grown))]


def _shape(loop: Loop) -> shapely.Polygon:
    return shapely.Polygon(loop_points_mm(loop, FINE_MM))


def _grown(loop: Loop) -> shapely.Polygon:
    shape = _shape(loop)
    low, high = np.array(shape.bounds).reshape(2, 2)
    # beyond a straight side that reaches as far as the arcs no corner of a mesh lies
    ends = np.array([p for one in loop if isinstance(one, Line) for p in (one.start, one.end)])
    ends = ends.reshape(-1, 2)
    reached_low = (ends <= low + FINE_MM).any(axis=0)
    reached_high = (ends >= high - FINE_MM).any(axis=0)
    low = np.where(reached_low, low, low - CHORD_MM)
    high = np.where(reached_high, high, high + CHORD_MM)
    grown: shapely.Polygon = shape.buffer(CHORD_MM + FINE_MM, join_style="mitre")
    return grown.intersection(shapely.box(*low.tolist(), *high.tolist()))


def _ring(shape: shapely.Polygon) -> list[tuple[float, float]]:
    ring = shapely.orient_polygons(shape).exterior
    return [(float(x), float(y)) for x, y in ring.coords[:-1]]
