"""One file a bed: every copy in its place, on the bed, the same bytes every time."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh

from generators.exports.plates import PlateObject, bed_parts, lay_on_beds, write_plates
from generators.meshes.mesh import Mesh
from generators.meshes.plan import meshes_plan
from layouts import defaults
from tests.generators.exports.test_threemf import read_strictly

PRINTER = defaults.printer()


def box_at(corner: tuple[float, float, float], size: tuple[float, float, float]) -> Mesh:
    """A box with its lowest corner somewhere."""
    made = trimesh.creation.box(size)
    points = made.vertices + np.asarray(size) / 2 + np.asarray(corner)
    return Mesh(np.asarray(points), np.asarray(made.faces))


def piece(name: str, mesh: Mesh, count: int, kin: str = "") -> PlateObject:
    """One kind of part."""
    return PlateObject(
        name=name, mesh=mesh, bodies=(mesh,), colour=(0.2, 0.4, 0.6), count=count, kin=kin
    )


PIECES = [
    piece("large", box_at((-70, 10, -2), (140, 120, 30)), 2),
    piece("small", box_at((5, 5, 0), (40, 25, 8)), 5),
]


def written(folder: Path) -> dict[str, bytes]:
    """Files of all beds."""
    folder.mkdir()
    laid, refused = lay_on_beds(bed_parts(PIECES), PRINTER)
    assert refused == ()
    write_plates(folder, "pack", PIECES, laid)
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*.3mf")}


def test_each_bed_has_a_file_that_lies_on_the_bed(tmp_path: Path) -> None:
    """All copies over all files; each at least 3 mm within the bed, its lowest point on z = 0."""
    files = written(tmp_path / "a")
    assert set(files) == {"plates/plate-1.3mf", "plates/plate-2.3mf"}
    names = []
    for name in files:
        read = read_strictly(tmp_path / "a" / name)
        build = read.GetBuildItems()
        while build.MoveNext():
            item = build.GetCurrent()
            made = item.GetObjectResource()
            names.append(made.GetName())
            matrix = np.array([list(row) for row in item.GetObjectTransform().Fields])
            mesh = read.GetMeshObjectByID(made.GetResourceID())
            points = np.array([list(v.Coordinates) for v in mesh.GetVertices()])
            there = points @ matrix[:3] + matrix[3]
            assert there[:, :2].min() >= 3.0 - 1e-4
            assert there[:, :2].max() <= 217.0 + 1e-4
            assert there[:, 2].min() == pytest.approx(0.0, abs=1e-5)
    assert sorted(names) == ["large"] * 2 + ["small"] * 5


def test_the_same_bytes_every_time(tmp_path: Path) -> None:
    """Two runs."""
    assert written(tmp_path / "a") == written(tmp_path / "b")


def test_a_brim_keeps_parts_further_apart() -> None:
    """Room for two brims between parts, and for one at the edge."""
    wide = replace(PRINTER, brim_mm=10.0)
    laid, _ = lay_on_beds(bed_parts([piece("small", box_at((0, 0, 0), (40, 25, 8)), 4)]), wide)
    corners = np.array([one.shift_mm for one in laid if one.turn_deg == 0])
    assert len(corners) == 4
    assert corners.min() >= 13.0
    apart = np.abs(corners[:, None] - corners[None]) - np.array([40.0, 25.0])
    clear = apart.max(axis=2)[~np.eye(4, dtype=bool)]
    assert clear.min() >= 20.0 - 1e-9


def test_no_part_makes_no_folder(tmp_path: Path) -> None:
    """Where all are larger than the bed."""
    plank = piece("plank", box_at((0, 0, 0), (600, 10, 5)), 1)
    laid, refused = lay_on_beds(bed_parts([plank]), PRINTER)
    assert (laid, refused) == ((), ("plank",))
    write_plates(tmp_path, "pack", [plank], laid)
    assert list(tmp_path.iterdir()) == []


def test_the_plan_of_a_mesh_is_what_it_covers() -> None:
    """Bodies together, a hole filled: nothing is laid in it."""
    ring = trimesh.creation.annulus(r_min=5.0, r_max=10.0, height=3.0)
    plan = meshes_plan(
        [Mesh(np.asarray(ring.vertices), np.asarray(ring.faces)), box_at((20, 0, 0), (4, 5, 1))]
    )
    disc = 32 / 2 * 100.0 * np.sin(np.pi / 16)  # the ring has 32 sides
    assert plan.area == pytest.approx(disc + 20.0, rel=1e-6)
