"""Files against the written formats: STL bytes, 3MF package and model, STEP frame."""

from __future__ import annotations

import struct
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import lib3mf
import numpy as np
import pytest

from generators.exports.step import StepPlace, write_part_step
from generators.exports.stl import write_stl
from generators.exports.threemf import PrintObject, write_3mf
from tests.generators.exports.assembled import write_step
from tests.generators.exports.shapes import BOX_MM, PlainMesh, box_mesh, ring_mesh, turned
from tests.generators.exports.test_step import box_kind, cell_kind, row_of_cells

# 3MF Core Specification, appendix C: content type, relationship and namespace, to the letter
MODEL_TYPE = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
START_PART = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"


@pytest.fixture
def package(tmp_path: Path) -> Path:
    """Two parts, one of them twice, in one 3MF."""
    objects = [
        PrintObject(name="box", mesh=box_mesh(), colour=(0.2, 0.3, 0.4)),
        PrintObject(
            name="ring", mesh=ring_mesh(), colour=(0.5, 0.5, 0.5),
            places=(turned(50.0, 0.0), turned(90.0, 0.0, angle_rad=0.5)),
        ),
    ]  # fmt: skip
    write_3mf(tmp_path / "a.3mf", objects, "two kinds")
    return tmp_path / "a.3mf"


def model_of(package: Path) -> ElementTree.Element:
    """The model part's XML, found through the package's start relationship."""
    with zipfile.ZipFile(package) as opened:
        relations = ElementTree.fromstring(opened.read("_rels/.rels"))
        (start,) = [one for one in relations if one.get("Type") == START_PART]
        return ElementTree.fromstring(opened.read(str(start.get("Target")).lstrip("/")))


def read_stl_bytes(data: bytes) -> np.ndarray:
    """Corners (n, 3, 3) taken from the bytes by the published layout alone.

    Binary STL (PolyU Industrial Centre's page; Kaitai's description): 80 bytes of heading, a
    uint32 count, little-endian; per triangle twelve float32 (normal, three corners) and a
    uint16; the heading must not begin with "solid"; 84 + 50 n bytes in all.
    """
    assert not data.startswith(b"solid")
    (count,) = struct.unpack_from("<I", data, 80)
    assert len(data) == 84 + 50 * count
    return np.array(
        [struct.unpack_from("<9f", data, 84 + 50 * k + 12) for k in range(count)]
    ).reshape(-1, 3, 3)


@pytest.mark.parametrize(
    # sizes by 84 + 50 n: four triangles 284 bytes, twelve 684
    ("mesh", "size"),
    [
        (PlainMesh(np.eye(4, 3), np.array([[0, 1, 2], [0, 3, 1], [1, 3, 2], [0, 2, 3]])), 284),
        (box_mesh(), 684),
    ],
    ids=["tetrahedron", "box"],
)
def test_stl_has_the_published_size(tmp_path: Path, mesh: PlainMesh, size: int) -> None:
    """84 + 50 n bytes."""
    write_stl(tmp_path / "a.stl", mesh)
    assert (tmp_path / "a.stl").stat().st_size == size


def test_stl_bytes_give_the_box_back(tmp_path: Path) -> None:
    """A reader of the layout alone finds the corners, and the volume by signed tetrahedra."""
    write_stl(tmp_path / "a.stl", box_mesh())
    data = (tmp_path / "a.stl").read_bytes()
    corners = read_stl_bytes(data)
    assert corners.min(axis=(0, 1)) == pytest.approx([0, 0, 0])
    assert corners.max(axis=(0, 1)) == pytest.approx(BOX_MM)
    # volume of a closed mesh: sum of dot(a, cross(b, c)) / 6 (divergence theorem)
    a, b, c = corners.swapaxes(0, 1)
    assert (a * np.cross(b, c)).sum() / 6.0 == pytest.approx(np.prod(BOX_MM))
    assert data[132:134] == b"\0\0"  # the first record's attribute count


def test_box_mesh_has_the_published_counts() -> None:
    """V - E + F = 2 for a closed body (Euler-Poincare): a cube has V 8, E 18, F 12."""
    box = box_mesh()
    edges = np.sort(box.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    unique, shared = np.unique(edges, axis=0, return_counts=True)
    assert (len(box.vertices_mm), len(unique), len(box.faces)) == (8, 18, 12)
    assert set(shared) == {2}


def test_3mf_is_read_in_strict_mode_without_a_warning(package: Path) -> None:
    """The format's own library, strict: no warning, two meshes, both closed, three items."""
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(package))
    assert reader.GetWarningCount() == 0
    at = model.GetMeshObjects()
    closed = []
    while at.MoveNext():
        closed.append(at.GetCurrentMeshObject().IsManifoldAndOriented())
    assert closed == [True, True]
    assert model.GetBuildItems().Count() == 3


def test_3mf_package_is_as_specified(package: Path) -> None:
    """Zip with compression 0 or 8, UTF-8, no DTD, and the specification's own identifiers."""
    # 3MF Core Specification 1.2.4, 2.1 and 2.3.2; appendix C
    with zipfile.ZipFile(package) as opened:
        assert {entry.compress_type for entry in opened.infolist()} <= {0, 8}
        types = ElementTree.fromstring(opened.read("[Content_Types].xml"))
        for entry in opened.infolist():
            text = opened.read(entry).decode("utf-8")
            assert "<!DOCTYPE" not in text
            assert "http://schemas." in text
    assert {one.get("Extension"): one.get("ContentType") for one in types}["model"] == MODEL_TYPE


def test_3mf_model_is_as_specified(package: Path) -> None:
    """Millimetres; ids unique and above 0; resources before build; known kinds and names only."""
    # 3MF Core Specification 3.1 to 3.4 and 4
    model = model_of(package)
    assert model.tag == f"{{{CORE}}}model"
    assert model.get("unit") == "millimeter"
    assert [child.tag.split("}")[1] for child in model] == ["metadata", "resources", "build"]
    assert model[0].get("name") == "Title"
    assert model[0].text == "two kinds"
    ids = [int(str(one.get("id"))) for one in model[1]]
    assert len(set(ids)) == len(ids)
    assert min(ids) >= 1
    objects = model.findall(f".//{{{CORE}}}object")
    assert {one.get("type") for one in objects} == {"model"}
    items = model.findall(f"{{{CORE}}}build/{{{CORE}}}item")
    assert {item.get("objectid") for item in items} == {one.get("id") for one in objects}
    for item in items[1:]:
        assert len(str(item.get("transform")).split()) == 12


def test_3mf_meshes_follow_the_mesh_rules(package: Path) -> None:
    """Each edge is shared by exactly two triangles, once each way; volume is positive."""
    # 3MF Core Specification 4.1: indices from 0, three distinct, counter-clockwise from outside
    for one in model_of(package).findall(f".//{{{CORE}}}object"):
        corners = np.array(
            [[float(str(v.get(a))) for a in "xyz"] for v in one.iter(f"{{{CORE}}}vertex")]
        )
        faces = np.array(
            [
                [int(str(t.get(a))) for a in ("v1", "v2", "v3")]
                for t in one.iter(f"{{{CORE}}}triangle")
            ]
        )
        assert len(faces) >= 4
        assert faces.min() == 0
        assert faces.max() == len(corners) - 1
        assert all(len(set(face)) == 3 for face in faces.tolist())
        ways = faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
        there = {tuple(way) for way in ways.tolist()}
        assert len(there) == len(ways)
        assert there == {(b, a) for a, b in there}
        a, b, c = corners[faces].swapaxes(0, 1)
        assert (a * np.cross(b, c)).sum() > 0.0


def test_step_frame_is_as_specified(tmp_path: Path) -> None:
    """First and last line, both sections, header entities in order, AP214's schema name."""
    # ISO 10303-21 as in public articles on it; the example's level is 2;1
    write_step(tmp_path / "a.step", {"cell": cell_kind()}, row_of_cells(2), "frame")
    write_part_step(tmp_path / "b.step", "box", box_kind())
    for name in ("a.step", "b.step"):
        lines = (tmp_path / name).read_text(encoding="ascii").splitlines()
        assert (lines[0], lines[1]) == ("ISO-10303-21;", "HEADER;")
        assert lines[-1] == "END-ISO-10303-21;"
        assert lines.count("ENDSEC;") == 2
        assert lines.count("DATA;") == 1
        header = "\n".join(lines[: lines.index("DATA;")])
        order = [header.index(word) for word in ("FILE_DESCRIPTION", "FILE_NAME", "FILE_SCHEMA")]
        assert order == sorted(order)
        assert "'2;1'" in header
        assert "AUTOMOTIVE_DESIGN { 1 0 10303 214 " in header


def test_step_is_in_millimetres_and_read_by_a_second_way(tmp_path: Path) -> None:
    """The modelling package's own reader finds the same names, colours and volumes."""
    import cadquery  # the slowest import of all: only this test needs it

    places = [*row_of_cells(2), StepPlace(name="lid", kind="box", matrix=turned(0.0, 60.0, 5.0))]
    write_step(tmp_path / "a.step", {"cell": cell_kind(), "box": box_kind()}, places, "pack")
    assert "SI_UNIT(.MILLI.,.METRE.)" in (tmp_path / "a.step").read_text(encoding="ascii")
    read = cadquery.Assembly.importStep(str(tmp_path / "a.step"))
    found = {child.name: child for child in read.children}
    assert set(found) == {"cell_000", "cell_001", "lid"}
    assert found["lid"].obj.Volume() == pytest.approx(6000.0, rel=1e-9)
    assert found["lid"].color.toTuple()[:3] == pytest.approx((0.1, 0.6, 0.2), abs=2e-3)
    shift = found["lid"].loc.toTuple()[0]
    assert shift == pytest.approx((0.0, 60.0, 5.0), abs=1e-9)
