"""The proof every body earns: valid solid, volume by formula, watertight mesh of one body."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest
import trimesh
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_ShapeEnum, TopAbs_SHELL, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS_Shape

from generators.kernel.stitch import solid
from generators.meshes.mesh import Mesh, mesh
from layouts.slabs.slabs import Body

VOLUME_REL = 1e-9


def count(shape: TopoDS_Shape, kind: TopAbs_ShapeEnum) -> int:
    """Number of sub-shapes of a kind."""
    explorer = TopExp_Explorer(shape, kind)
    found = 0
    while explorer.More():
        found += 1
        explorer.Next()
    return found


def volume_mm3(shape: TopoDS_Shape) -> float:
    """Volume by the kernel."""
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    return float(properties.Mass())


def assert_sound_solid(body: Body, expected_mm3: float) -> TopoDS_Shape:
    """One valid solid of one shell with the expected volume, which the body itself also gives."""
    assert body.volume_mm3() == pytest.approx(expected_mm3, rel=VOLUME_REL)
    shape = solid(body)
    assert BRepCheck_Analyzer(shape, True, False).IsValid()
    assert count(shape, TopAbs_SOLID) == 1
    assert count(shape, TopAbs_SHELL) == 1
    assert volume_mm3(shape) == pytest.approx(expected_mm3, rel=VOLUME_REL)
    return shape


def assert_sound_mesh(made: Mesh, expected_mm3: float, *, rel: float = VOLUME_REL) -> None:
    """A volume, one body, accepted by manifold3d, with the expected volume."""
    seen = trimesh.Trimesh(made.vertices_mm, made.faces, process=False)
    assert seen.is_volume
    assert seen.body_count == 1
    strict = manifold3d.Manifold(manifold3d.Mesh64(made.vertices_mm, made.faces.astype(np.uint64)))
    assert strict.status() == manifold3d.Error.NoError
    assert made.volume_mm3() == pytest.approx(expected_mm3, rel=rel)
    assert seen.volume == pytest.approx(expected_mm3, rel=rel)


def assert_sound(body: Body, expected_mm3: float) -> TopoDS_Shape:
    """Solid and meshes at several chords."""
    shape = assert_sound_solid(body, expected_mm3)
    for chord_mm in (0.005, 0.02, 0.1):
        assert_sound_mesh(mesh(body, chord_mm), expected_mm3)
    return shape
