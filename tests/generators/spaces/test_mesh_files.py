"""Triangles from STL, OBJ, 3MF and STEP, and their units."""

from __future__ import annotations

import math
import os
import zipfile
from pathlib import Path

import cadquery as cq
import lib3mf
import numpy as np
import pytest
import trimesh

from generators.spaces.errors import UnreadableError
from generators.spaces.mesh_files import read_mesh
from generators.spaces.opening import read_solid
from layouts.spaces.space import Solid
from tests.layouts.spaces.solids import mesh_of

BOX = trimesh.creation.box((200, 150, 100))


def read(file: Path, units: str | None = None, *, use="room", mend=False) -> Solid:
    """The solid of a file."""
    solid, _ = read_solid(str(file), file.name, units, as_name="room", mend=mend, use=use)
    return solid


@pytest.mark.parametrize("kind", ["stl", "obj"])
def test_plain_meshes_are_mm_unless_told(tmp_path, kind) -> None:
    """Volume and box by trimesh; in inches the same numbers are 25.4 times as long."""
    file = tmp_path / f"bay.{kind}"
    BOX.export(file)
    mesh = mesh_of(read(file))
    assert mesh.is_volume and mesh.volume == pytest.approx(3e6)
    small = tmp_path / f"small.{kind}"
    trimesh.creation.box((8, 6, 4)).export(small)
    assert mesh_of(read(small, "in")).extents == pytest.approx([203.2, 152.4, 101.6])


def test_ascii_stl_and_quads_of_obj(tmp_path) -> None:
    """Both text formats; a face of four corners is two triangles."""
    file = tmp_path / "bay.stl"
    file.write_text(trimesh.exchange.stl.export_stl_ascii(BOX))
    assert mesh_of(read(file)).volume == pytest.approx(3e6)
    quads = tmp_path / "bay.obj"
    corners = [(x, y, z) for z in (0, 90) for x, y in ((0, 0), (80, 0), (80, 60), (0, 60))]
    faces = ["4 3 2 1", "5 6 7 8", "1 2 6 5", "2 3 7 6", "3 4 8 7", "4 1 5 8"]
    quads.write_text(
        "".join(f"v {x} {y} {z}\n" for x, y, z in corners) + "".join(f"f {f}\n" for f in faces)
    )
    assert mesh_of(read(quads)).volume == pytest.approx(80 * 60 * 90)


@pytest.mark.parametrize(
    ("size", "use", "told"),
    [
        ((8, 6, 4), "room", "is 8 x 6 x 4 mm if its unit is mm, too small for the space of a pack"),
        ((0.3, 0.2, 0.1), "keep_out", "is 0.3 x 0.2 x 0.1 mm if its unit is mm, too small"),
        ((8000, 60, 40), "room", "is 8000 x 60 x 40 mm if its unit is mm, too large"),
        ((8000, 60, 40), "surroundings", "is 8000 x 60 x 40 mm if its unit is mm, too large"),
    ],
)
def test_a_size_that_no_pack_fits_is_asked_about(tmp_path, size, use, told) -> None:
    """The sizes that each unit would give stand in the message."""
    file = tmp_path / "bay.stl"
    trimesh.creation.box(size).export(file)
    with pytest.raises(UnreadableError) as caught:
        read(file, use=use)
    assert caught.value.why.startswith(told)
    words = [f"{side * 25.4:.3g}" if side * 25.4 < 1000 else f"{side * 25.4:.0f}" for side in size]
    assert f"in ({' x '.join(words)} mm)" in caught.value.remedy
    assert caught.value.remedy.startswith("add units: mm (")


def test_a_unit_that_was_said_is_held_to_as_well(tmp_path) -> None:
    """8 mm said to be mm are still no room; a keep-out may be that small, and is noted."""
    file = tmp_path / "bay.stl"
    trimesh.creation.box((8, 6, 4)).export(file)
    with pytest.raises(UnreadableError, match="is 8 x 6 x 4 mm, too small for the space of a pack"):
        read(file, "mm")
    assert mesh_of(read(file, "mm", use="keep_out")).volume == pytest.approx(192)
    _, notes = read_solid(str(file), "bolt.stl", None, as_name="bolt", mend=False, use="keep_out")
    assert notes == ("bolt.stl: read in mm, 8 x 6 x 4 mm; add units if it is larger",)


UNITS = {"in": lib3mf.ModelUnit.Inch, "mm": lib3mf.ModelUnit.MilliMeter,
         "m": lib3mf.ModelUnit.Meter, "cm": lib3mf.ModelUnit.CentiMeter}  # fmt: skip


def write_3mf(file: Path, mesh: trimesh.Trimesh, unit: str) -> None:
    """A 3MF by the format's own library: the mesh turned, shifted and placed as a component."""
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    model.SetUnit(UNITS[unit])
    body = model.AddMeshObject()
    vertices = [lib3mf.Position(tuple(float(v) for v in row)) for row in mesh.vertices]
    faces = [lib3mf.Triangle(tuple(int(v) for v in row)) for row in mesh.faces]
    body.SetGeometry(vertices, faces)
    group = model.AddComponentsObject()
    group.AddComponent(body, wrapper.GetTranslationTransform(10.0, 0.0, 0.0))
    turn = wrapper.GetIdentityTransform()
    rows = [[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, 5.0, 0.0]]  # x becomes y
    for i, row in enumerate(rows):
        for j, value in enumerate(row):
            turn.Fields[i][j] = value
    model.AddBuildItem(group, turn)
    model.QueryWriter("3mf").WriteToFile(str(file))


@pytest.mark.parametrize(("unit", "factor"), [("mm", 1), ("in", 25.4), ("cm", 10), ("m", 1000)])
def test_3mf_carries_its_unit_and_places(tmp_path, unit, factor) -> None:
    """Component and item transforms one after the other, lengths in the file's unit."""
    mesh = trimesh.creation.box((200 / factor, 150 / factor, 100 / factor))
    file = tmp_path / "bay.3mf"
    write_3mf(file, mesh, unit)
    solid = mesh_of(read(file))
    assert solid.is_volume and solid.volume == pytest.approx(3e6, rel=1e-5)
    low = np.array([-75.0, -100 + 15 * factor, -50.0])  # shifted by 10 in x, turned, 5 in y
    assert solid.bounds == pytest.approx(np.array([low, low + [150, 200, 100]]), rel=1e-5, abs=1e-4)
    with pytest.raises(UnreadableError, match=rf"contradicts bay\.3mf, which is in {unit}"):
        read(file, "in" if unit != "in" else "mm")


def test_step_comes_as_triangles_in_mm(tmp_path) -> None:
    """A drilled block against its formula; in an inch file lengths are the same, and its unit
    is known."""
    block = cq.Workplane().box(200, 100, 50).cut(cq.Workplane().cylinder(50, 20))
    true = 200 * 100 * 50 - math.pi * 400 * 50
    for unit, word in (("MM", "mm"), ("INCH", "in")):
        file = tmp_path / f"{word}.step"
        cq.exporters.export(block, str(file), unit=unit)
        mesh = mesh_of(read(file, word))
        assert mesh.is_volume
        assert mesh.volume == pytest.approx(true, abs=0.05 * 2 * math.pi * 20 * 50)
        assert mesh.extents == pytest.approx([200, 100, 50])
        with pytest.raises(UnreadableError, match="contradicts"):
            read(file, "cm")
    _, notes = read_solid(str(file), "a.step", None, as_name="room", mend=False, use="room")
    assert notes == ("a.step: curved faces are approximated by triangles within 0.05 mm",)


def test_step_surfaces_alone_are_no_room(tmp_path, capfd) -> None:
    """A sheet encloses nothing; the kernel's own words stay off the terminal."""
    file = tmp_path / "sheet.step"
    cq.exporters.export(cq.Workplane(obj=cq.Face.makePlane(100, 100)), str(file))
    with pytest.raises(UnreadableError, match="contains no solid"):
        read_mesh(file)
    broken = tmp_path / "broken.step"
    broken.write_text("ISO-10303-21;\njunk")
    with pytest.raises(UnreadableError):
        read_mesh(broken)
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("kind", ["stl", "obj", "3mf", "step"])
@pytest.mark.parametrize("data", [b"", b"junk", bytes(range(256)) * 20])
def test_damaged_files_are_refused(tmp_path, kind, data) -> None:
    """Whatever is in the file, one error reports it."""
    file = tmp_path / f"bay.{kind}"
    file.write_bytes(data)
    with pytest.raises(UnreadableError):
        read(file)


def test_a_3mf_with_a_corner_that_is_not_there_is_refused(tmp_path) -> None:
    """Indices are checked before they are used; so is the package's model."""
    file = tmp_path / "bay.3mf"
    write_3mf(file, BOX, "mm")
    with zipfile.ZipFile(file) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    for change in ((b'v1="0"', b'v1="99"'), (b"millimeter", b"furlong"), (b"<item", b"<other")):
        changed = {name: data.replace(*change) for name, data in parts.items()}
        assert changed != parts
        with zipfile.ZipFile(file, "w") as archive:
            for name, data in changed.items():
                archive.writestr(name, data)
        with pytest.raises(UnreadableError):
            read_mesh(file)


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("absent.stl", "can't be read: No such file or directory"),
        ("folder.stl", "can't be read: Is a directory"),
        ("bay.igs", "is of an unsupported type"),
        ("bay.dxf", "can't be read: No such file or directory"),
    ],
)
def test_files_that_are_no_files(tmp_path, name, why) -> None:
    """Missing, a folder, another format."""
    (tmp_path / "folder.stl").mkdir()
    with pytest.raises(UnreadableError, match=why):
        read(tmp_path / name)


def test_an_stl_that_is_cut_off_is_told(tmp_path) -> None:
    """With what it announces and what there is of it."""
    file = tmp_path / "bay.stl"
    BOX.export(file)
    file.write_bytes(file.read_bytes()[:-75])
    with pytest.raises(UnreadableError, match=r"announces 12 triangles and has 10\.5"):
        read_mesh(file)


def test_a_pipe_is_not_waited_for(tmp_path) -> None:
    """Nobody writes into it."""
    os.mkfifo(tmp_path / "bay.stl")
    with pytest.raises(UnreadableError, match="it is not a regular file"):
        read(tmp_path / "bay.stl")


def test_an_obj_with_a_corner_that_is_not_there_is_refused(tmp_path) -> None:
    """A face of the fourth of three corners."""
    file = tmp_path / "bay.obj"
    file.write_text("v 0 0 0\nv 90 0 0\nv 0 90 0\nf 1 2 3\nf 1 2 4\n")
    with pytest.raises(UnreadableError, match=r"with a missing corner|is not readable as OBJ"):
        read_mesh(file)
