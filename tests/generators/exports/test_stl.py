"""Binary STL: what lands in the file."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest
import trimesh

from generators.exports.stl import write_stl
from tests.generators.exports.shapes import BOX_MM, PlainMesh, box_mesh, ring_mesh


def test_a_second_reader_gets_the_same_closed_body(tmp_path: Path) -> None:
    """Another reader welds the file into the very body that was written."""
    mesh = ring_mesh()
    write_stl(tmp_path / "ring.stl", mesh)
    read = trimesh.load(tmp_path / "ring.stl")
    written = trimesh.Trimesh(mesh.vertices_mm, mesh.faces)
    assert read.is_volume
    assert read.body_count == 1
    assert len(read.vertices) == len(mesh.vertices_mm)
    assert read.volume == pytest.approx(written.volume, rel=1e-6)
    assert read.bounds[0][2] == 0.0


def test_normals_are_unit_and_point_outwards(tmp_path: Path) -> None:
    """Each record's normal is the outward one of its own triangle."""
    write_stl(tmp_path / "box.stl", box_mesh())
    data = (tmp_path / "box.stl").read_bytes()
    middle = np.asarray(BOX_MM) / 2.0
    for at in range(84, len(data), 50):
        numbers = struct.unpack("<12f", data[at : at + 48])
        normal, corners = np.array(numbers[:3]), np.array(numbers[3:]).reshape(3, 3)
        assert np.linalg.norm(normal) == pytest.approx(1.0)
        assert normal @ (corners.mean(axis=0) - middle) > 0.0


def test_writing_twice_gives_the_same_bytes(tmp_path: Path) -> None:
    """Nothing but the mesh decides the bytes."""
    for name in ("a.stl", "b.stl"):
        write_stl(tmp_path / name, ring_mesh())
    assert (tmp_path / "a.stl").read_bytes() == (tmp_path / "b.stl").read_bytes()


def test_an_inside_out_mesh_is_told_apart_by_its_file(tmp_path: Path) -> None:
    """Winding goes into the file as it is: an inside-out box reads with a negative volume."""
    box = box_mesh()
    write_stl(tmp_path / "out.stl", PlainMesh(box.vertices_mm, box.faces[:, ::-1]))
    assert trimesh.load(tmp_path / "out.stl").volume == pytest.approx(-np.prod(BOX_MM))


@pytest.mark.parametrize("fault", ["empty", "nan"])
def test_a_mesh_that_is_no_body_is_refused(tmp_path: Path, fault: str) -> None:
    """No file is made of nothing, nor of a number that is none."""
    box = box_mesh()
    corners = np.where(box.vertices_mm > 25.0, np.nan, box.vertices_mm)
    mesh = (
        PlainMesh(box.vertices_mm, box.faces[:0])
        if fault == "empty"
        else PlainMesh(corners, box.faces)
    )
    with pytest.raises(ValueError, match=r"bad\.stl: a mesh needs triangles"):
        write_stl(tmp_path / "bad.stl", mesh)
    assert not (tmp_path / "bad.stl").exists()
