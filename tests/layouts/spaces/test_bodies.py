"""Plain bodies to stay out of."""

from __future__ import annotations

import math

import numpy as np
import pytest

from layouts.errors import PlanError
from layouts.spaces.bodies import SIDES, box_solid, cylinder_solid
from tests.layouts.spaces.solids import mesh_of


def test_a_box_is_closed_and_faces_outwards_whichever_corners_are_given() -> None:
    """Volume by trimesh, bounds as asked, for corners in either order."""
    for corners in (((10, 60, -5), (40, 20, 30)), ((40, 20, 30), (10, 60, -5))):
        mesh = mesh_of(box_solid("b", *corners, field="f"))
        assert mesh.is_volume and mesh.volume == pytest.approx(30 * 40 * 35)
        assert mesh.bounds.tolist() == [[10, 20, -5], [40, 60, 30]]


@pytest.mark.parametrize("end", [(0, 0, 50), (30, 0, 0), (10, -20, 5)])
def test_a_cylinder_is_never_smaller_than_asked(end) -> None:
    """Every point of the true cylinder lies within, and nothing beyond 0.06 % of its radius."""
    start = np.array([3.0, 4.0, 5.0])
    mesh = mesh_of(cylinder_solid("c", start, start + end, 20, field="f"))
    assert mesh.is_volume
    length = float(np.linalg.norm(end))
    area = SIDES * 400 * math.tan(math.pi / SIDES)  # circumscribed polygon (plane geometry)
    assert mesh.volume == pytest.approx(area * length)
    assert mesh.volume > math.pi * 400 * length
    axis = np.asarray(end) / length
    from_axis = np.linalg.norm(np.cross(mesh.vertices - start, axis), axis=1)
    assert from_axis == pytest.approx(20 / math.cos(math.pi / SIDES))


def test_bodies_without_volume_are_refused() -> None:
    """A flat box names the axis, a cylinder of no length its two ends."""
    with pytest.raises(PlanError, match="both corners lie at the same z"):
        box_solid("b", (0, 0, 7), (10, 10, 7), field="space.b")
    with pytest.raises(PlanError, match="from_mm and to_mm are the same place"):
        cylinder_solid("c", (1, 2, 3), (1, 2, 3), 5, field="space.c")
