"""What a mesh covers, seen from above."""

from __future__ import annotations

from collections.abc import Sequence

import manifold3d
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from generators.meshes.mesh import Mesh

__all__ = ["meshes_plan"]


def meshes_plan(meshes: Sequence[Mesh]) -> BaseGeometry:
    """The plan of closed meshes, holes filled: nothing else is laid in a hole of a part."""
    outer = []
    for one in meshes:
        body = manifold3d.Manifold(manifold3d.Mesh64(one.vertices_mm, one.faces.astype(np.uint64)))
        rings = (shapely.Polygon(ring) for ring in body.project().to_polygons())
        outer += [ring for ring in rings if ring.exterior.is_ccw]
    return shapely.union_all(outer)
