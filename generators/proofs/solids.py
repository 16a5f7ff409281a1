"""Manifold solids of meshes, cans and placements: float64 throughout, nothing is welded."""

from __future__ import annotations

import math
from collections.abc import Sequence

import manifold3d
import numpy as np
from numpy.typing import NDArray

__all__ = ["cans_solid", "facets_for", "first_hit_mm", "mesh_solid", "placed_points"]


def placed_points(
    points_mm: NDArray[np.float64], matrix: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(n, 3) points after a (4, 4) turn and shift [mm]."""
    return np.asarray(points_mm @ matrix[:3, :3].T + matrix[:3, 3], dtype=np.float64)


def mesh_solid(vertices_mm: NDArray[np.float64], faces: NDArray[np.int64]) -> manifold3d.Manifold:
    """Solid of a closed mesh; raises ValueError when the triangles bound no solid."""
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(
            np.ascontiguousarray(vertices_mm, dtype=np.float64),
            np.ascontiguousarray(faces, dtype=np.uint64),
        )
    )
    if solid.status() != manifold3d.Error.NoError:
        raise ValueError(f"the triangles bound no solid: {solid.status().name}")
    return solid


def facets_for(radius_mm: float, chord_mm: float) -> int:
    """Sides of a polygon in a circle whose chords stand off the circle by at most ``chord_mm``."""
    return max(12, math.ceil(math.pi / math.acos(1.0 - chord_mm / radius_mm)))


def cans_solid(
    xy_mm: NDArray[np.float64],
    *,
    diameter_mm: float,
    z0_mm: float,
    z1_mm: float,
    chord_mm: float,
) -> manifold3d.Manifold:
    """All cans at once, (n, 2) centres, as polygons drawn *round* the circles.

    The polygon's flats touch the true circle, so a can that fits here fits in truth. The
    cans must not overlap each other: the spacing check proves that first.
    """
    sides = facets_for(diameter_mm / 2, chord_mm)
    radius = diameter_mm / 2 / math.cos(math.pi / sides)
    one = manifold3d.Manifold.cylinder(z1_mm - z0_mm, radius, radius, sides)
    return manifold3d.Manifold.compose(
        [one.translate([float(x), float(y), z0_mm]) for x, y in xy_mm]
    )


def first_hit_mm(
    solids: Sequence[manifold3d.Manifold],
    start_mm: NDArray[np.float64],
    end_mm: NDArray[np.float64],
) -> float:
    """Distance from a point to the first face on the way to another; infinite where none is.

    0 where the way begins inside of a solid: its first face is then met from within.
    """
    way = end_mm - start_mm
    nearest, inside = math.inf, False
    for solid in solids:
        hits = solid.ray_cast(start_mm.tolist(), end_mm.tolist())
        if hits and hits[0].distance < nearest:
            nearest = hits[0].distance
            inside = float(np.dot(hits[0].normal, way)) > 0.0
    return 0.0 if inside else nearest * float(np.linalg.norm(way))
