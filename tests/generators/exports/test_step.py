"""STEP: solids, names, colours and places as read back by the kernel's document reader."""

from __future__ import annotations

import math
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest
from OCP.Bnd import Bnd_Box
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
from OCP.GProp import GProp_GProps
from OCP.Quantity import Quantity_Color, Quantity_TOC_sRGB
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label, TDF_LabelSequence
from OCP.TDocStd import TDocStd_Document
from OCP.TopoDS import TopoDS_Shape
from OCP.XCAFDoc import XCAFDoc_ColorGen, XCAFDoc_ColorSurf, XCAFDoc_DocumentTool

from generators.exports.assembly import write_assembly
from generators.exports.step import (
    StepKind,
    StepPlace,
    cylinder_solid,
    write_part_step,
)
from tests.generators.exports.assembled import write_by_kernel, write_step
from tests.generators.exports.shapes import half_turn_about_y, turned

GREY, GREEN = (0.5, 0.5, 0.5), (0.1, 0.6, 0.2)


def box_kind(colour: tuple[float, float, float] = GREEN) -> StepKind:
    """A box of 30 x 20 x 10 with a corner at the origin."""
    return StepKind(solid=BRepPrimAPI_MakeBox(30.0, 20.0, 10.0).Solid(), colour=colour)


def cell_kind() -> StepKind:
    """An invented cell."""
    return StepKind(solid=cylinder_solid(diameter_mm=21.0, length_mm=70.0), colour=GREY)


def row_of_cells(count: int) -> list[StepPlace]:
    """Cells 23 mm apart."""
    return [
        StepPlace(name=f"cell_{i:03d}", kind="cell", matrix=turned(23.0 * i, 0.0))
        for i in range(count)
    ]


def name_of(label: TDF_Label) -> str:
    """The name on a label of the document."""
    name = TDataStd_Name()
    assert label.FindAttribute(TDataStd_Name.GetID_s(), name)
    return str(name.Get().ToExtString())


def volume_mm3(shape: TopoDS_Shape) -> float:
    """Volume by the kernel."""
    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found)
    return float(found.Mass())


def box_of(shape: TopoDS_Shape) -> np.ndarray:
    """Lowest and highest corner by the kernel, without its own slack."""
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    return np.array(box.Get()).reshape(2, 3)


class Read:
    """A STEP file read into a fresh document."""

    def __init__(self, path: Path) -> None:
        """Read names and colours, and find the one free shape."""
        self.document = TDocStd_Document(TCollection_ExtendedString("read"))
        reader = STEPCAFControl_Reader()
        reader.SetNameMode(True)
        reader.SetColorMode(True)
        reader.ReadFile(str(path))
        assert reader.Transfer(self.document)
        self.shapes = XCAFDoc_DocumentTool.ShapeTool_s(self.document.Main())
        self.colours = XCAFDoc_DocumentTool.ColorTool_s(self.document.Main())
        free = TDF_LabelSequence()
        self.shapes.GetFreeShapes(free)
        assert free.Length() == 1
        self.root = free.Value(1)

    def parts(self) -> dict[str, tuple[str, TopoDS_Shape, tuple[float, ...]]]:
        """Place name -> (kind name, shape in place, colour)."""
        inner = TDF_LabelSequence()
        self.shapes.GetComponents_s(self.root, inner)
        found = {}
        for number in range(1, inner.Length() + 1):
            label, kind = inner.Value(number), TDF_Label()
            assert self.shapes.GetReferredShape_s(label, kind)
            shape = self.shapes.GetShape_s(label)
            found[name_of(label)] = (name_of(kind), shape, self.colour(kind))
        return found

    def colour(self, label: TDF_Label) -> tuple[float, ...]:
        """Colour of a kind, sRGB."""
        shade = Quantity_Color()
        shape = self.shapes.GetShape_s(label)
        assert self.colours.GetColor(shape, XCAFDoc_ColorGen, shade) or self.colours.GetColor(
            shape, XCAFDoc_ColorSurf, shade
        )
        return tuple(round(share, 4) for share in shade.Values(Quantity_TOC_sRGB))


def test_names_colours_volumes_and_places_come_back(tmp_path: Path) -> None:
    """Each copy has its own name, its kind's name, colour and volume, and stands in its place."""
    places = [
        *row_of_cells(3),
        StepPlace(name="low", kind="box", matrix=turned(0.0, 50.0, angle_rad=math.pi / 2.0)),
        StepPlace(name="high", kind="box", matrix=half_turn_about_y(72.0)),
    ]
    write_step(tmp_path / "a.step", {"cell": cell_kind(), "box": box_kind()}, places, "try-1")
    read = Read(tmp_path / "a.step")
    assert name_of(read.root) == "try-1"
    parts = read.parts()
    assert list(parts) == ["cell_000", "cell_001", "cell_002", "low", "high"]
    assert {kind for kind, _, _ in parts.values()} == {"cell", "box"}
    for name, (kind, shape, colour) in parts.items():
        assert colour == pytest.approx(GREY if kind == "cell" else GREEN, abs=2e-3), name
        expected = math.pi / 4.0 * 21.0**2 * 70.0 if kind == "cell" else 6000.0
        assert volume_mm3(shape) == pytest.approx(expected, rel=1e-9)
    assert box_of(parts["low"][1]) == pytest.approx(
        np.array([[-20.0, 50.0, 0.0], [0.0, 80.0, 10.0]]), abs=1e-6
    )
    assert box_of(parts["high"][1]) == pytest.approx(
        np.array([[-30.0, 0.0, 62.0], [0.0, 20.0, 72.0]]), abs=1e-6
    )


def test_a_single_part_keeps_its_name_colour_and_ground(tmp_path: Path) -> None:
    """A part file is one named, coloured solid in its own coordinates, no assembly round it."""
    write_part_step(tmp_path / "lid.step", "lid", box_kind())
    read = Read(tmp_path / "lid.step")
    assert name_of(read.root) == "lid"
    assert not read.shapes.IsAssembly_s(read.root)
    assert read.colour(read.root) == pytest.approx(GREEN, abs=2e-3)
    shape = read.shapes.GetShape_s(read.root)
    assert volume_mm3(shape) == pytest.approx(6000.0, rel=1e-12)
    assert box_of(shape)[0] == pytest.approx([0.0, 0.0, 0.0], abs=1e-6)


def test_many_equal_cells_are_stored_once(tmp_path: Path) -> None:
    """A hundred cells hold one solid and take few bytes each."""
    kinds = {"cell": cell_kind()}
    sizes = []
    for count in (10, 110):
        write_step(tmp_path / "a.step", kinds, row_of_cells(count), "many")
        text = (tmp_path / "a.step").read_text(encoding="latin-1")
        assert text.count("MANIFOLD_SOLID_BREP(") == 1
        assert text.count("NEXT_ASSEMBLY_USAGE_OCCURRENCE(") == count
        sizes.append(len(text))
    assert (sizes[1] - sizes[0]) / 100 < 1000


def test_writing_again_in_one_process_gives_the_same_bytes(tmp_path: Path) -> None:
    """Usage numbers that go on counting, and colours shared by kinds, leave no trace."""
    kinds = {"cell": cell_kind(), "box": box_kind(), "other": box_kind(GREY)}
    places = [
        *row_of_cells(4),
        StepPlace(name="b", kind="box", matrix=turned(0.0, 40.0)),
        StepPlace(name="o", kind="other", matrix=turned(0.0, 80.0)),
    ]
    made = set()
    for _ in range(3):
        write_step(tmp_path / "a.step", kinds, places, "same")
        made.add((tmp_path / "a.step").read_bytes())
    assert len(made) == 1


def test_it_is_what_the_kernel_itself_would_write(tmp_path: Path) -> None:
    """Names, colours, volumes and boxes of every copy agree with the kernel's own assembly."""
    kinds = {"cell": cell_kind(), "box": box_kind()}
    places = [
        *row_of_cells(2),
        StepPlace(name="flap", kind="box", matrix=half_turn_about_y(30.0)),
        StepPlace(name="askew", kind="box", matrix=turned(-40.0, 1.5, angle_rad=0.7)),
    ]
    seen = []
    for write, file in ((write_step, "ours.step"), (write_by_kernel, "kernel.step")):
        write(tmp_path / file, kinds, places, "twice")
        whole = cq.Assembly.importStep(str(tmp_path / file))
        seen.append(
            {
                one.name: (
                    one.obj.Volume(),
                    one.color.toTuple(),
                    box_of(one.obj.located(one.loc).wrapped).ravel().tolist(),
                )
                for one in whole.children
            }
        )
    ours, kernel = seen
    assert set(ours) == set(kernel) == {place.name for place in places}
    for name, (volume, colour, box) in kernel.items():
        assert ours[name][0] == pytest.approx(volume, rel=1e-12)
        assert ours[name][1] == pytest.approx(colour, abs=1e-6)
        assert ours[name][2] == pytest.approx(box, abs=1e-9)


def test_the_kernel_says_nothing(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """Neither stream gets a word while a file is written."""
    write_step(tmp_path / "a.step", {"cell": cell_kind()}, row_of_cells(1), "quiet")
    said = capfd.readouterr()
    assert said.out == ""
    assert said.err == ""


def test_faulty_assemblies_are_refused(tmp_path: Path) -> None:
    """No places, a name twice, an unknown kind and a mirror are reported, and no file is left."""
    path, kinds = tmp_path / "a.step", {"cell": cell_kind()}
    with pytest.raises(ValueError, match="needs places"):
        write_step(path, kinds, [], "a")
    with pytest.raises(ValueError, match="each with its own name"):
        write_step(path, kinds, row_of_cells(1) * 2, "a")
    with pytest.raises(ValueError, match="no part file for lid"):
        write_step(path, kinds, [StepPlace(name="x", kind="lid", matrix=np.eye(4))], "a")
    mirror = np.diag([1.0, 1.0, -1.0, 1.0])
    with pytest.raises(ValueError, match="x: a placement may only turn and shift"):
        write_step(path, kinds, [StepPlace(name="x", kind="cell", matrix=mirror)], "a")
    assert not path.exists()


def test_what_is_no_whole_part_file_is_refused(tmp_path: Path) -> None:
    """A part file cut short, one without product and any other text are reported by their name."""
    file = tmp_path / "box.step"
    write_part_step(file, "box", box_kind())
    whole = file.read_text(encoding="latin-1")
    place = StepPlace(name="one", kind="box", matrix=np.eye(4))
    for text in (
        whole[: len(whole) // 2],
        whole.replace("= PRODUCT_DEFINITION(", "= INVENTED("),
        whole.replace("#1 = APPLICATION_PROTOCOL_DEFINITION", "#1 = INVENTED"),
        "solid box",
    ):
        file.write_text(text, encoding="latin-1")
        with pytest.raises(ValueError, match=r"box\.step: not a whole part file"):
            write_assembly(tmp_path / "a.step", {"box": file}, [place], "a")


def test_no_line_grows_with_the_number_of_cells(tmp_path: Path) -> None:
    """Two hundred cells make no line longer than a few entities are, as in the kernel's files."""
    write_step(tmp_path / "a.step", {"cell": cell_kind()}, row_of_cells(200), "many")
    lines = (tmp_path / "a.step").read_text(encoding="ascii").splitlines()
    assert max(map(len, lines)) <= 120


def test_a_folder_that_is_not_there_is_an_os_error(tmp_path: Path) -> None:
    """An unwritable path is reported as such, not as a kernel's fault."""
    with pytest.raises(OSError, match="can't be written"):
        write_part_step(tmp_path / "none" / "a.step", "a", box_kind())


def test_a_cell_stands_on_the_ground() -> None:
    """The stand-in cell is a cylinder from z = 0 up to its length."""
    box = box_of(cylinder_solid(diameter_mm=18.0, length_mm=65.0))
    assert box == pytest.approx(np.array([[-9, -9, 0], [9, 9, 65.0]]), abs=1e-6)
