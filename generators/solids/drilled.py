"""Round bores that don't run along the slabs, cut after the body is made: kernel and mesh."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cadquery as cq
import manifold3d
import numpy as np
from numpy.typing import NDArray
from OCP.TopoDS import TopoDS_Solid

from generators.solids.errors import SolidError
from generators.solids.mesh import Mesh

__all__ = ["Bore", "drilled_mesh", "drilled_solid"]

# A bore begins this far before its start, so that its end never lies flush in a face.
OVERSHOOT_MM = 0.05
# A bore that takes away less than this meets nothing.
LEAST_CUT_MM3 = 1e-6
UNIT_LENGTH_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Bore:
    """A round blind bore: from ``start`` [mm], on the surface, ``depth_mm`` along ``direction``.

    ``direction`` has length 1. The tool begins 0.05 mm before the start; there must be air.
    """

    start: tuple[float, float, float]
    direction: tuple[float, float, float]
    radius_mm: float
    depth_mm: float


def _check(bore: Bore) -> None:
    """SolidError unless a bore has a unit direction and sizes above 0."""
    if abs(math.hypot(*bore.direction) - 1) > UNIT_LENGTH_SLACK:
        raise SolidError(
            f"direction {bore.direction} of a bore at {bore.start} has length "
            f"{math.hypot(*bore.direction):.6g}",
            mend="give a direction of length 1",
        )
    if not (bore.radius_mm > 0 and bore.depth_mm > 0):
        raise SolidError(
            f"a bore at {bore.start} has radius {bore.radius_mm:g} and depth {bore.depth_mm:g} mm",
            mend="both must be above 0",
        )


def drilled_solid(solid: TopoDS_Solid, bores: Sequence[Bore]) -> TopoDS_Solid:
    """The solid with all bores cut by the kernel in one go; the solid itself if there are none.

    SolidError if nothing was cut or the result is not one solid.
    """
    if not bores:
        return solid
    tools = []
    for bore in bores:
        _check(bore)
        start, way = cq.Vector(*bore.start), cq.Vector(*bore.direction)
        tools.append(
            cq.Solid.makeCylinder(
                bore.radius_mm, bore.depth_mm + OVERSHOOT_MM, start - way * OVERSHOOT_MM, way
            )
        )
    body = cq.Solid(solid)
    before = body.Volume()
    result = body.cut(*tools)
    pieces = result.Solids()
    if len(pieces) != 1:
        raise SolidError(
            f"boring leaves {len(pieces)} solids", mend="move the bores or make them smaller"
        )
    if before - pieces[0].Volume() < LEAST_CUT_MM3:
        raise SolidError("the bores meet no material", mend="check their starts and directions")
    if not pieces[0].isValid():
        raise SolidError(
            "boring leaves a solid that is not sound",
            mend="keep the bores off edges they would only touch",
        )
    drilled: TopoDS_Solid = pieces[0].wrapped
    return drilled


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
            f"the mesh to be bored is not sound ({body.status().name})", mend="mesh the body anew"
        )
    tools = []
    for bore in bores:
        _check(bore)
        tool = _prism(bore, chord_mm)
        if (body ^ tool).volume() < LEAST_CUT_MM3:
            raise SolidError(
                f"the bore at {bore.start} meets no material", mend="check its start and direction"
            )
        tools.append(tool)
    result = manifold3d.Manifold.batch_boolean([body, *tools], manifold3d.OpType.Subtract)
    count = len(result.decompose())
    if count != 1:
        raise SolidError(
            f"boring leaves {count} bodies", mend="move the bores or make them smaller"
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
