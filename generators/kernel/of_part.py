"""A part's solid, whether it is drawn or its shape is given."""

from __future__ import annotations

import io

from OCP.BinTools import BinTools
from OCP.Storage import Storage_StreamReadError
from OCP.TopoDS import TopoDS, TopoDS_Shape, TopoDS_Solid

from generators.kernel.drilled import drilled_solid
from generators.kernel.stitch import solid
from layouts.parts.drawing import Drawing
from layouts.parts.part import Part

__all__ = ["part_solid", "read_solid", "written_solid"]


def part_solid(part: Part) -> TopoDS_Solid:
    """The finished part as one solid of the kernel."""
    shape = part.drawing
    if isinstance(shape, Drawing):
        return drilled_solid(solid(shape.body), shape.bores)
    return read_solid(shape.solid)


def written_solid(shape: TopoDS_Shape) -> bytes:
    """A solid in the kernel's binary format: every number as it is."""
    stream = io.BytesIO()
    BinTools.Write_s(shape, stream)
    return stream.getvalue()


def read_solid(data: bytes) -> TopoDS_Solid:
    """A solid from what ``written_solid`` gave. Raises ValueError where it holds none."""
    shape = TopoDS_Shape()
    try:
        BinTools.Read_s(shape, io.BytesIO(data))
    except Storage_StreamReadError as error:
        raise ValueError("the bytes hold no solid of the kernel") from error
    return TopoDS.Solid_s(shape)
