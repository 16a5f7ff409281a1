"""Round bores that don't run along the slabs, cut into a body's mesh."""

from __future__ import annotations

import math
from collections.abc import Sequence

import manifold3d
import numpy as np
from numpy.typing import NDArray

from generators.meshes.mesh import Mesh
from layouts.slabs.bore import Bore
from layouts.slabs.errors import SolidError

__all__ = ["LEAST_CUT_MM3", "OVERSHOOT_MM", "check_bore", "drilled_mesh"]

# A bore begins this far before its start, so that its end never lies flush in a face.
OVERSHOOT_MM = 0.05
# A bore that takes away less than this meets nothing.
LEAST_CUT_MM3 = 1e-6
UNIT_LENGTH_SLACK = 1e-9


def check_bore(bore: Bore) -> None:
    """SolidError unless a bore has a unit direction and sizes above 0."""
    if abs(math.hypot(*bore.direction) - 1) > UNIT_LENGTH_SLACK:
        raise SolidError(
            f"direction {bore.direction} of a bore at {bore.start} has length "
            f"{math.hypot(*bore.direction):.6g}",
            remedy="give a direction of length 1",
        )
    if not (bore.radius_mm > 0 and bore.depth_mm > 0):
        raise SolidError(
            f"a bore at {bore.start} has radius {bore.radius_mm:g} and depth {bore.depth_mm:g} mm",
            remedy="both must be above 0",
        )


def drilled_mesh(mesh: Mesh, bores: Sequence[Bore], chord_mm: float = 0.01) -> Mesh:
    """The mesh with all bores cut; the mesh itself if there are none.

    Bores are prisms whose cross-section has the circle's own area; no chord stands off the
    circle by more than ``chord_mm``. Nothing is welded.
    SolidError if a bore meets no material, or if the result is not one body.
    """
    if not bores:
        return mesh
    body = manifold3d.Manifold(manifold3d.Mesh64(mesh.vertices_mm, mesh.faces.astype(np.uint64)))
    if body.status() != manifold3d.Error.NoError:
        raise SolidError(
            f"the mesh to be bored is not sound ({body.status().name})", remedy="mesh the body anew"
        )
    tools = []
    for bore in bores:
        check_bore(bore)
        tool = _prism(bore, chord_mm)
        if (body ^ tool).volume() < LEAST_CUT_MM3:
            raise SolidError(
                f"the bore at {bore.start} meets no material",
                remedy="check its start and direction",
            )
        tools.append(tool)
    result = manifold3d.Manifold.batch_boolean([body, *tools], manifold3d.OpType.Subtract)
    count = len(result.decompose())
    if count != 1:
        raise SolidError(
            f"boring leaves {count} bodies", remedy="move the bores or make them smaller"
        )
    out = result.to_mesh64()
    return Mesh(
        np.array(out.vert_properties[:, :3], np.float64, order="C"),
        np.array(out.tri_verts, np.int64, order="C"),
    )


def _prism(bore: Bore, chord_mm: float) -> manifold3d.Manifold:
    """A bore as a prism of the circle's own area, in place."""
    step = 2 * math.acos(max(1 - chord_mm / bore.radius_mm, 0.5))
    count = max(6, math.ceil(math.tau / step))
    radius = bore.radius_mm * math.sqrt(math.tau / count / math.sin(math.tau / count))
    upright = manifold3d.Manifold.cylinder(bore.depth_mm + OVERSHOOT_MM, radius, radius, count)
    return upright.transform(_frame(bore))


def _frame(bore: Bore) -> NDArray[np.float64]:
    """(3, 4) placement that takes +z to the bore's direction and 0 to the tool's beginning."""
    z = np.array(bore.direction, float)
    helper = np.eye(3)[int(np.argmin(np.abs(z)))]
    x = np.cross(helper, z)
    x /= np.linalg.norm(x)
    y = np.cross(z, x)
    start = np.array(bore.start, float) - OVERSHOOT_MM * z
    return np.column_stack([x, y, z, start])
