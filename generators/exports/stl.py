"""Binary STL: 80 bytes of heading, a count, then 50 bytes a triangle; millimetres."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from generators.meshes.mesh import Mesh

# A heading may not begin with "solid": readers would take the file for the text form.
HEADING = b"binary STL, millimetres".ljust(80)
_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def write_stl(path: Path, mesh: Mesh) -> None:
    """Write one closed mesh; the bytes depend on the mesh alone.

    Corners are rounded once to float32, the format's own number, and each normal is
    that of the rounded triangle (zero where rounding left no area). Raises ValueError
    when the mesh has no triangle or a number that is not finite.
    """
    faces = np.asarray(mesh.faces)
    corners = np.asarray(mesh.vertices_mm, dtype=np.float64).astype("<f4")[faces]
    if not len(faces) or not np.isfinite(corners).all():
        raise ValueError(f"{path.name}: a mesh needs triangles with finite corners")
    wide = corners.astype(np.float64)
    normals = np.cross(wide[:, 1] - wide[:, 0], wide[:, 2] - wide[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    records = np.zeros(len(faces), dtype=_RECORD)
    records["normal"] = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0.0)
    records["corners"] = corners
    count = np.array([len(faces)], dtype="<u4")
    path.write_bytes(HEADING + count.tobytes() + records.tobytes())
