"""What every part of tub and lid is asked for."""

from __future__ import annotations

import cadquery as cq
import manifold3d
import numpy as np
import pytest
import trimesh
from OCP.BRepCheck import BRepCheck_Analyzer

from generators.kernel.drilled import drilled_mesh, drilled_solid
from generators.kernel.stitch import solid
from generators.meshes.mesh import mesh
from layouts.parts.part import Part


def assert_sound(part: Part) -> trimesh.Trimesh:
    """One valid solid, volume as by the formula, mesh one volume on z = 0; returns the mesh."""
    shape = drilled_solid(solid(part.body), part.bores)
    assert BRepCheck_Analyzer(shape).IsValid()
    volume = cq.Solid(shape).Volume()
    assert volume == pytest.approx(part.formula_mm3, rel=1e-9)
    made = drilled_mesh(mesh(part.body), part.bores)
    body = trimesh.Trimesh(made.vertices_mm, made.faces, process=False)
    assert body.is_volume and body.body_count == 1
    assert body.volume == pytest.approx(volume, rel=1e-6)
    assert body.bounds[0][2] == pytest.approx(0.0, abs=1e-9)
    return body


def placed(part: Part, body: trimesh.Trimesh) -> trimesh.Trimesh:
    """The part's mesh in the pack's coordinates."""
    assert len(part.placed) == 1
    assert np.linalg.det(part.placed[0][:3, :3]) == pytest.approx(1.0)
    return body.copy().apply_transform(part.placed[0])


def manifold(body: trimesh.Trimesh) -> manifold3d.Manifold:
    """A mesh as a manifold, for its booleans."""
    return manifold3d.Manifold(
        manifold3d.Mesh64(np.asarray(body.vertices), np.asarray(body.faces, np.uint64))
    )
