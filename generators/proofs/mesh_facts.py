"""What a part's mesh is, measured by a general mesh library."""

from __future__ import annotations

import numpy as np
import trimesh
from numpy.typing import NDArray

from generators.proofs.meshes import MeshFacts

__all__ = ["mesh_facts"]


def mesh_facts(name: str, vertices_mm: NDArray[np.float64], faces: NDArray[np.int64]) -> MeshFacts:
    """Facts of one mesh, taken as it is: nothing is welded or repaired."""
    mesh = trimesh.Trimesh(vertices_mm, faces, process=False, validate=False)
    low, high = vertices_mm.min(axis=0), vertices_mm.max(axis=0)
    return MeshFacts(
        name=name,
        watertight=bool(mesh.is_watertight),
        volume=bool(mesh.is_volume),
        bodies=int(mesh.body_count),
        volume_mm3=float(mesh.volume),
        box_mm=(
            (float(low[0]), float(low[1]), float(low[2])),
            (float(high[0]), float(high[1]), float(high[2])),
        ),
    )
