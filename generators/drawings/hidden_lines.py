"""Hidden-line drawings by the kernel: visible edges of solids as lines in a picture plane."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepLib import BRepLib
from OCP.GeomAbs import GeomAbs_Line
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape
from OCP.TopAbs import TopAbs_EDGE
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS

__all__ = ["Polyline", "VIEW_FROM_ABOVE", "located", "visible_lines"]

Polyline = NDArray[np.float64]  # (n, 2) points in the picture, x right, y up [mm]

VIEW_FROM_ABOVE = (1.0, -1.4, 1.1)

# A curved edge's share of a full turn between two points of its drawing.
CURVE_STEP_RAD = math.radians(12.0)
CURVE_POINTS_MOST = 30


def located(shape: Any, matrix: NDArray[np.float64]) -> Any:
    """The same shape (TopoDS) at a (4, 4) turn and shift; nothing is copied."""
    move = gp_Trsf()
    move.SetValues(*(float(v) for v in np.asarray(matrix)[:3].ravel()))
    return shape.Located(TopLoc_Location(move))


def visible_lines(
    shapes: Sequence[Any],
    *,
    view: tuple[float, float, float] = VIEW_FROM_ABOVE,
    up: tuple[float, float, float] = (0.0, 0.0, 1.0),
) -> list[Polyline]:
    """Edges and outlines of the solids that an eye far away along ``view`` sees.

    ``view`` points from the object to the eye. Returns lines in the picture plane, with
    ``up`` upright where it can be.
    """
    right = np.cross(up, view)
    if np.hypot(*right[:2]) + abs(right[2]) < 1e-9:
        right = np.array([1.0, 0.0, 0.0])
    algo = HLRBRep_Algo()
    for shape in shapes:
        algo.Add(shape)
    frame = gp_Ax2(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(*view), gp_Dir(*(float(v) for v in right)))
    algo.Projector(HLRAlgo_Projector(frame))
    algo.Update()
    algo.Hide()
    to_shape = HLRBRep_HLRToShape(algo)
    lines: list[Polyline] = []
    for compound in (to_shape.VCompound(), to_shape.OutLineVCompound()):
        if compound is None or compound.IsNull():
            continue
        BRepLib.BuildCurves3d_s(compound)
        walk = TopExp_Explorer(compound, TopAbs_EDGE)
        while walk.More():
            lines.append(_points(TopoDS.Edge_s(walk.Current())))
            walk.Next()
    return lines


def _points(edge: Any) -> Polyline:
    curve = BRepAdaptor_Curve(edge)
    first, last = curve.FirstParameter(), curve.LastParameter()
    if curve.GetType() == GeomAbs_Line:
        count = 2
    else:
        steps = math.ceil(abs(last - first) / CURVE_STEP_RAD)
        count = min(max(steps, 2), CURVE_POINTS_MOST) + 1
    out = np.empty((count, 2))
    for k, t in enumerate(np.linspace(first, last, count)):
        point = curve.Value(float(t))
        out[k] = point.X(), point.Y()
    return out
