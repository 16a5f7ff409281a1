"""Round bores that don't run along the slabs, cut by the kernel after the body is made."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
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

from generators.meshes.drilled import LEAST_CUT_MM3, OVERSHOOT_MM, check_bore
from layouts.slabs.bore import Bore
from layouts.slabs.errors import SolidError

__all__ = ["drilled_solid"]


def drilled_solid(solid: TopoDS_Solid, bores: Sequence[Bore]) -> TopoDS_Solid:
    """The solid with all bores cut by the kernel in one go; the solid itself if there are none.

    SolidError if nothing was cut or the result is not one sound solid. Calls the kernel
    itself: CadQuery's own layer would cost as much time to load as a whole tub to make.
    """
    if not bores:
        return solid
    tools = TopTools_ListOfShape()
    for bore in bores:
        check_bore(bore)
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
