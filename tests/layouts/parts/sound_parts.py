"""What every part of tub and lid must be."""

from __future__ import annotations

from collections.abc import Sequence

import cadquery as cq
import manifold3d
import numpy as np
import pytest
import trimesh
from OCP.BRepCheck import BRepCheck_Analyzer

from generators.kernel.drilled import drilled_solid
from generators.kernel.stitch import solid
from generators.meshes.drilled import drilled_mesh
from generators.meshes.mesh import mesh
from layouts.parts.feature import Feature, drawn
from layouts.parts.part import Part
from layouts.slabs.errors import SolidError


def assert_sound(part: Part, formula_mm3: float, *, fine: float = 1e-12) -> trimesh.Trimesh:
    """One valid solid, its volume and the drawing's by the formula; its mesh on z = 0.

    ``fine``: relative error of the formula."""
    drawing = part.drawing
    assert drawing.volume_mm3() == pytest.approx(formula_mm3, rel=fine)
    shape = drilled_solid(solid(drawing.body), drawing.bores)
    assert BRepCheck_Analyzer(shape).IsValid()
    volume = cq.Solid(shape).Volume()
    assert volume == pytest.approx(drawing.volume_mm3(), rel=1e-9)
    made = drilled_mesh(mesh(drawing.body), drawing.bores)
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


def assert_every_feature_counts(features: Sequence[Feature]) -> None:
    """Taking away any one feature that has loops changes the drawn volume or can't be drawn."""
    whole = drawn(features).volume_mm3()
    for k, feature in enumerate(features):
        if feature.loops and feature.z1_mm > feature.z0_mm:
            try:
                rest = drawn([*features[:k], *features[k + 1 :]]).volume_mm3()
            except SolidError:
                continue
            assert abs(rest - whole) > 1e-3, feature.name
