"""STEP (AP214) of placed assemblies and single parts, named, coloured, always the same bytes.

Written through the kernel's own document, without the modelling package on top of it.
Three things in the kernel's output change from run to run: the header's clock, the
numbers of the assembly's usage records, which go on counting within a process, and the
order of the colour records, which follows memory addresses. All three are rewritten.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
from OCP.gp import gp_Trsf
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
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Shape
from OCP.XCAFDoc import (
    XCAFDoc_ColorGen,
    XCAFDoc_ColorTool,
    XCAFDoc_DocumentTool,
    XCAFDoc_ShapeTool,
)

from generators.parts.part import check_rigid

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


def write_step(
    path: Path, kinds: Mapping[str, StepKind], places: Sequence[StepPlace], title: str
) -> None:
    """Write an assembly: each kind's solid is stored once, each place refers to it.

    Raises ValueError for an empty assembly, a repeated name, an unknown kind or a
    placement that mirrors or stretches, and OSError when the file can't be written.
    """
    names = [place.name for place in places]
    if not names or len(set(names)) < len(names):
        raise ValueError(f"{path.name}: an assembly needs places, each with its own name")
    unknown = {place.kind for place in places} - set(kinds)
    if unknown:
        raise ValueError(f"{path.name}: no solid for {', '.join(sorted(unknown))}")
    document, shapes, colours = _new_document()
    labels = {
        name: _add(shapes, colours, name, kind)
        for name, kind in kinds.items()
        if any(place.kind == name for place in places)
    }
    root = shapes.NewShape()
    _name(root, title)
    for place in places:
        at = TopLoc_Location(_transformation(place))
        _name(shapes.AddComponent(root, labels[place.kind], at), place.name)
    shapes.UpdateAssemblies()
    _write(path, document, title)


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


def _transformation(place: StepPlace) -> gp_Trsf:
    check_rigid(place.matrix, what=place.name)
    # 12 decimals: cos 90 degrees becomes 0, whichever way the matrix was multiplied
    rows = np.round(np.asarray(place.matrix, dtype=np.float64)[:3], 12) + 0.0
    turned = gp_Trsf()
    turned.SetValues(*rows.ravel().tolist())
    turned.SetScaleFactor(1.0)  # float noise of a determinant is no scale
    return turned


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
        raise OSError(f"{path}: can't be written")
    text = path.read_bytes().decode("latin-1")
    path.write_bytes(canonical_step(text).encode("latin-1"))


_USAGE = re.compile(r"(NEXT_ASSEMBLY_USAGE_OCCURRENCE\(')[^']*'")
_COLOURS = re.compile(
    r"^#(\d+) = MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION", re.MULTILINE
)
_ENTITY = re.compile(r"#(\d+) = (.*?;)\r?\n", re.DOTALL)
_REFERENCE = re.compile(r"#(\d+)")


def canonical_step(text: str) -> str:
    """The same model in the one order and numbering that its content gives.

    Usage records are numbered from 1. The colour records at the end of the data are
    sorted by the shape that they colour and renumbered depth first in the order of
    their references. Raises ValueError when a record there belongs to no colour, as
    then the kernel writes them in another way than known here.
    """
    counted = iter(range(1, len(text)))
    text = _USAGE.sub(lambda match: f"{match[1]}{next(counted)}'", text)
    start = _COLOURS.search(text)
    if start is None:
        return text
    end = text.rindex("ENDSEC;")
    entities = {
        int(number): re.sub(r"\s*\n\s*", "", body)
        for number, body in _ENTITY.findall(text[start.start() : end])
    }

    def references(number: int) -> list[int]:
        return [int(found) for found in _REFERENCE.findall(entities[number])]

    def coloured(number: int) -> list[int]:
        return [references(inner)[-1] for inner in references(number) if inner in entities]

    roots = sorted((n for n, body in entities.items() if _is_root(body)), key=coloured)
    renumbered: dict[int, int] = {}
    todo = roots[::-1]
    while todo:
        number = todo.pop()
        if number in entities and number not in renumbered:
            renumbered[number] = int(start[1]) + len(renumbered)
            todo += references(number)[::-1]
    if len(renumbered) != len(entities):
        raise ValueError("STEP: a record among the colours belongs to no colour")

    def swap(match: re.Match[str]) -> str:
        number = int(match[1])
        return f"#{renumbered.get(number, number)}"

    lines = [f"#{new} = {_REFERENCE.sub(swap, entities[old])}\n" for old, new in renumbered.items()]
    return text[: start.start()] + "".join(lines) + text[end:]


def _is_root(body: str) -> bool:
    return body.startswith("MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION")
