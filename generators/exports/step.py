"""STEP (AP214) of single parts, named, coloured, always the same bytes.

Written through the kernel's own document, without the modelling package on top of it. The
header's clock is the one thing in a single part's file that changes from run to run: it is
set. (In an assembly's file the kernel also counts on and sorts by memory addresses; that is
one reason why ``assembly`` writes it from the parts' text.)
"""

from __future__ import annotations

import errno
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.Message import Message
from OCP.Quantity import Quantity_Color, Quantity_TOC_sRGB
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_AsIs
from OCP.TCollection import TCollection_ExtendedString, TCollection_HAsciiString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.TopoDS import TopoDS_Shape
from OCP.XCAFDoc import (
    XCAFDoc_ColorGen,
    XCAFDoc_ColorTool,
    XCAFDoc_DocumentTool,
    XCAFDoc_ShapeTool,
)

STAMP = "2000-01-01T00:00:00"  # every file's clock


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class StepKind:
    """One solid that may stand in many places; ``colour``: r, g, b, each 0 to 1 (sRGB)."""

    solid: TopoDS_Shape
    colour: tuple[float, float, float]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class StepPlace:
    """One copy of a kind: its own name and a (4, 4) turn and shift."""

    name: str
    kind: str
    matrix: NDArray[np.float64]


def write_part_step(path: Path, name: str, kind: StepKind) -> None:
    """Write one part in its own coordinates. Raises OSError when it can't be written."""
    document, shapes, colours = _new_document()
    _add(shapes, colours, name, kind)
    _write(path, document, name)


def cylinder_solid(*, diameter_mm: float, length_mm: float) -> TopoDS_Shape:
    """A plain cylinder standing on z = 0 round the z axis: a cell in the assembly."""
    return BRepPrimAPI_MakeCylinder(diameter_mm / 2.0, length_mm).Solid()


def mute_kernel() -> None:
    """Stop the kernel's banners, which else land on standard output."""
    messenger = Message.DefaultMessenger_s()
    for printer in list(messenger.Printers()):
        messenger.RemovePrinter(printer)


def _new_document() -> tuple[TDocStd_Document, XCAFDoc_ShapeTool, XCAFDoc_ColorTool]:
    document = TDocStd_Document(TCollection_ExtendedString("XmlXCAF"))
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    return document, shapes, XCAFDoc_DocumentTool.ColorTool_s(document.Main())


def _name(label: TDF_Label, name: str) -> None:
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(name, True))


def _add(
    shapes: XCAFDoc_ShapeTool, colours: XCAFDoc_ColorTool, name: str, kind: StepKind
) -> TDF_Label:
    label = shapes.AddShape(kind.solid, False)
    _name(label, name)
    colour = Quantity_Color(*kind.colour, Quantity_TOC_sRGB)
    colours.SetColor(label, colour, XCAFDoc_ColorGen)
    return label


def _write(path: Path, document: TDocStd_Document, title: str) -> None:
    mute_kernel()
    writer = STEPCAFControl_Writer()
    writer.SetColorMode(True)
    writer.SetNameMode(True)
    # settings of the whole process, so set for every file
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)  # 2.5 times smaller, as exact
    if not writer.Transfer(document, STEPControl_AsIs):
        raise ValueError(f"{path.name}: the kernel could not turn the solids into STEP")
    header = APIHeaderSection_MakeHeader(writer.ChangeWriter().Model())
    header.SetTimeStamp(TCollection_HAsciiString(STAMP))
    header.SetName(TCollection_HAsciiString(title))
    if writer.Write(str(path)) != IFSelect_RetDone:
        # the kernel does not say why: most often the disk is full or the folder has gone
        raise OSError(errno.EIO, "can't be written", str(path))
