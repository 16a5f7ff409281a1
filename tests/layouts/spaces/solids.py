"""Meshes for tests of spaces, made by trimesh and independent of ours."""

from __future__ import annotations

import numpy as np
import trimesh

from layouts.spaces.space import Solid


def solid_of(mesh: trimesh.Trimesh, name: str = "body") -> Solid:
    """A trimesh as a plain solid."""
    return Solid(
        name=name,
        vertices_mm=np.asarray(mesh.vertices, dtype=np.float64),
        faces=np.asarray(mesh.faces, dtype=np.int64),
    )


def mesh_of(solid: Solid) -> trimesh.Trimesh:
    """A plain solid as a trimesh, its triangles as they are."""
    return trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False)
