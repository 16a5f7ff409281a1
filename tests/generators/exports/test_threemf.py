"""3MF: names, colours, copies and places as another reader finds them."""

from __future__ import annotations

import math
import zipfile
from pathlib import Path

import lib3mf
import numpy as np
import pytest

from generators.exports.threemf import PrintObject, hex_colour, write_3mf
from tests.generators.exports.shapes import (
    PlainMesh,
    box_mesh,
    half_turn_about_y,
    ring_mesh,
    turned,
)

GREY, GREEN = (0.5, 0.5, 0.5), (0.1, 0.6, 0.2)


def read_strictly(path: Path) -> lib3mf.Model:
    """The file as the format's own library reads it; any warning fails."""
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    return model


def meshes(model: lib3mf.Model) -> list[lib3mf.MeshObject]:
    """All mesh objects in the order of the file."""
    found, at = [], model.GetMeshObjects()
    while at.MoveNext():
        found.append(at.GetCurrentMeshObject())
    return found


def items(model: lib3mf.Model) -> list[lib3mf.BuildItem]:
    """All build items in the order of the file."""
    found, at = [], model.GetBuildItems()
    while at.MoveNext():
        found.append(at.GetCurrent())
    return found


def test_names_colours_and_unit_come_back(tmp_path: Path) -> None:
    """Two parts, two names (one with signs that XML must mask), two colours, millimetres."""
    write_3mf(
        tmp_path / "two.3mf",
        [
            PrintObject(name='lid & "seal" <1>', mesh=box_mesh(), colour=GREY),
            PrintObject(name="ring", mesh=ring_mesh(), colour=GREEN),
        ],
        "a pack",
    )
    model = read_strictly(tmp_path / "two.3mf")
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    read = meshes(model)
    assert [one.GetName() for one in read] == ['lid & "seal" <1>', "ring"]
    assert all(one.IsManifoldAndOriented() for one in read)
    colours = []
    for one in read:
        group, index, has = one.GetObjectLevelProperty()
        assert has
        shade = model.GetBaseMaterialGroupByID(group).GetDisplayColor(index)
        colours.append((shade.Red, shade.Green, shade.Blue, shade.Alpha))
    assert colours == [(128, 128, 128, 255), (26, 153, 51, 255)]
    assert len(items(model)) == 2


def test_vertices_come_back_within_a_micrometre(tmp_path: Path) -> None:
    """The reader's float32 corners are those of the mesh, in the same order."""
    mesh = ring_mesh()
    write_3mf(tmp_path / "a.3mf", [PrintObject(name="ring", mesh=mesh, colour=GREY)], "a")
    (read,) = meshes(read_strictly(tmp_path / "a.3mf"))
    corners = np.array([tuple(vertex.Coordinates) for vertex in read.GetVertices()])
    assert np.abs(corners - mesh.vertices_mm).max() < 1e-3
    assert corners[:, 2].min() == 0.0
    faces = np.array([tuple(triangle.Indices) for triangle in read.GetTriangleIndices()])
    assert np.array_equal(faces, mesh.faces)


def test_copies_share_one_mesh_and_stand_where_they_were_put(tmp_path: Path) -> None:
    """Two copies are one object and two build items; turn and shift are read back as given."""
    places = (turned(40.0, 7.5, angle_rad=math.pi / 2.0), half_turn_about_y(70.5))
    part = PrintObject(name="box", mesh=box_mesh(), colour=GREY, places=places)
    write_3mf(tmp_path / "a.3mf", [part], "a")
    model = read_strictly(tmp_path / "a.3mf")
    assert len(meshes(model)) == 1
    for item, place in zip(items(model), places, strict=True):
        fields = np.array([list(row) for row in item.GetObjectTransform().Fields])  # 4 rows of 3
        assert np.allclose(fields, place[:3].T, atol=1e-6)


def test_the_zip_holds_no_clock_and_no_system(tmp_path: Path) -> None:
    """All entries carry the zip's earliest time; writing again gives the same bytes."""
    for name in ("a.3mf", "b.3mf"):
        write_3mf(tmp_path / name, [PrintObject(name="r", mesh=ring_mesh(), colour=GREY)], "a")
    assert (tmp_path / "a.3mf").read_bytes() == (tmp_path / "b.3mf").read_bytes()
    with zipfile.ZipFile(tmp_path / "a.3mf") as package:
        assert {entry.date_time for entry in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert {entry.create_system for entry in package.infolist()} == {3}


def test_an_open_mesh_is_noticed_by_the_strict_reader(tmp_path: Path) -> None:
    """The reader used here is no rubber stamp: with one triangle gone it says so."""
    box = box_mesh()
    torn = PlainMesh(box.vertices_mm, box.faces[1:])
    write_3mf(tmp_path / "a.3mf", [PrintObject(name="torn", mesh=torn, colour=GREY)], "a")
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(tmp_path / "a.3mf"))
    (read,) = meshes(model)
    assert not read.IsManifoldAndOriented()


def test_nothing_shared_names_and_mirrors_are_refused(tmp_path: Path) -> None:
    """Each fault is reported, and no file is left."""
    part = PrintObject(name="box", mesh=box_mesh(), colour=GREY)
    path = tmp_path / "a.3mf"
    with pytest.raises(ValueError, match="no object to write"):
        write_3mf(path, [], "a")
    with pytest.raises(ValueError, match="share a name among box, box"):
        write_3mf(path, [part, part], "a")
    mirror = np.diag([-1.0, 1.0, 1.0, 1.0])
    with pytest.raises(ValueError, match="box: a placement may only turn and shift"):
        write_3mf(
            path, [PrintObject(name="box", mesh=box_mesh(), colour=GREY, places=(mirror,))], "a"
        )
    bad = PlainMesh(np.full((8, 3), np.inf), box_mesh().faces)
    with pytest.raises(ValueError, match="box: a mesh needs triangles with finite corners"):
        write_3mf(path, [PrintObject(name="box", mesh=bad, colour=GREY)], "a")
    assert not path.exists()


def test_colour_codes() -> None:
    """Black, white and a shade between."""
    assert hex_colour((0.0, 0.0, 0.0)) == "#000000"
    assert hex_colour((1.0, 1.0, 1.0)) == "#FFFFFF"
    assert hex_colour((0.2, 0.4, 0.6)) == "#336699"
