"""Round bores that don't run along the slabs, cut after the body is made: kernel and mesh."""

from __future__ import annotations

import math
from collections.abc import Sequence

import manifold3d
import numpy as np
from numpy.typing import NDArray
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape, TopoDS_Solid
from OCP.TopTools import TopTools_ListOfShape

from generators.meshes.mesh import Mesh
from layouts.slabs.bore import Bore
from layouts.slabs.errors import SolidError

__all__ = ["drilled_mesh", "drilled_solid"]

# A bore begins this far before its start, so that its end never lies flush in a face.
OVERSHOOT_MM = 0.05
# A bore that takes away less than this meets nothing.
LEAST_CUT_MM3 = 1e-6
UNIT_LENGTH_SLACK = 1e-9


def _check(bore: Bore) -> None:
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


def drilled_solid(solid: TopoDS_Solid, bores: Sequence[Bore]) -> TopoDS_Solid:
    """The solid with all bores cut by the kernel in one go; the solid itself if there are none.

    SolidError if nothing was cut or the result is not one sound solid. Calls the kernel
    itself: CadQuery's own layer would cost as much time to load as a whole tub to make.
    """
    if not bores:
        return solid
    tools = TopTools_ListOfShape()
    for bore in bores:
        _check(bore)
        tools.Append(_cylinder(bore))
    whole = TopTools_ListOfShape()
    whole.Append(solid)
    cut = BRepAlgoAPI_Cut()
    cut.SetArguments(whole)
    cut.SetTools(tools)
    cut.Build()
    if not cut.IsDone():
        raise SolidError("the kernel could not bore", remedy="move the bores off edges")
    pieces = TopExp_Explorer(cut.Shape(), TopAbs_SOLID)
    found = []
    while pieces.More():
        found.append(TopoDS.Solid_s(pieces.Current()))
        pieces.Next()
    if len(found) != 1:
        raise SolidError(
            f"boring leaves {len(found)} solids", remedy="move the bores or make them smaller"
        )
    if _volume_mm3(solid) - _volume_mm3(found[0]) < LEAST_CUT_MM3:
        raise SolidError("the bores meet no material", remedy="check their starts and directions")
    if not BRepCheck_Analyzer(found[0]).IsValid():
        raise SolidError(
            "boring leaves a solid that is not sound",
            remedy="keep the bores off edges they would only touch",
        )
    return found[0]


def _cylinder(bore: Bore) -> TopoDS_Shape:
    start = np.array(bore.start) - OVERSHOOT_MM * np.array(bore.direction)
    axis = gp_Ax2(gp_Pnt(*start.tolist()), gp_Dir(*bore.direction))
    return BRepPrimAPI_MakeCylinder(axis, bore.radius_mm, bore.depth_mm + OVERSHOOT_MM).Solid()


def _volume_mm3(solid: TopoDS_Shape) -> float:
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(solid, properties)
    return float(properties.Mass())


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
        _check(bore)
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
