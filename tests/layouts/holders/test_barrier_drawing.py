"""The barrier: a wall whose volume is thickness times its middle line."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import trimesh
from OCP.BRepCheck import BRepCheck_Analyzer

from generators.kernel.stitch import solid
from generators.meshes.mesh import mesh
from layouts.holders.barrier_drawing import barrier_drawing, barrier_part
from layouts.holders.barriers import BarrierDesign
from tests.oracles.barrier_formula import barrier_formula_mm3

LINES = {
    "straight": [(0.0, 0.0), (60.0, 0.0)],
    "zigzag": [(-30.0, 0.0), (-20.0, 5.0), (-8.5, -2.0), (3.0, 5.0), (14.5, -2.0), (26.0, 5.0)],
    "corner": [(0.0, 0.0), (40.0, 0.0), (40.0, 25.0)],
}


def design(name: str) -> BarrierDesign:
    """A wall 0.9 thick and 52 high along an invented line."""
    wall = shapely.LineString(LINES[name]).buffer(0.45, cap_style="flat", join_style="mitre")
    ring = shapely.get_coordinates(shapely.orient_polygons(wall).exterior)[:-1]
    return BarrierDesign(
        name="barrier-1", points_mm=ring, z_mm=9.2, height_mm=52.1, thick_mm=0.9, volts=25.2
    )


@pytest.mark.parametrize("name", LINES)
def test_wall_is_one_sound_solid_of_the_formula_s_volume(name):
    """Valid solid, watertight mesh, volume by the middle line's length."""
    wall = design(name)
    line = np.array(LINES[name])
    length = float(np.hypot(*np.diff(line, axis=0).T).sum())
    body = barrier_drawing(wall).body
    assert barrier_formula_mm3(wall) == pytest.approx(0.9 * length * 52.1, rel=1e-12)
    assert body.volume_mm3() == pytest.approx(barrier_formula_mm3(wall), rel=1e-12)
    assert BRepCheck_Analyzer(solid(body)).IsValid()
    made = mesh(body)
    found = trimesh.Trimesh(made.vertices_mm, made.faces, process=False)
    assert found.is_volume
    assert found.body_count == 1
    assert found.volume == pytest.approx(barrier_formula_mm3(wall), rel=1e-9)


def test_formula_sees_a_thicker_wall():
    """A wall drawn thicker than it says does not agree with its formula."""
    wall = design("zigzag")
    thick = shapely.Polygon(wall.points_mm).buffer(0.05, join_style="mitre")
    ring = shapely.get_coordinates(shapely.orient_polygons(thick).exterior)[:-1]
    other = BarrierDesign(
        name="barrier-1", points_mm=ring, z_mm=9.2, height_mm=52.1, thick_mm=0.9, volts=25.2
    )
    volume = barrier_drawing(other).body.volume_mm3()
    assert abs(volume / barrier_formula_mm3(other) - 1) > 1e-3


def test_part_stands_where_the_design_says():
    """Printed standing on z = 0, placed straight up to its own height."""
    part = barrier_part(design("corner"))
    assert (part.name, part.role) == ("barrier-1", "barrier")
    assert part.placed[0] @ (1.0, 2.0, 0.0, 1.0) == pytest.approx((1.0, 2.0, 9.2, 1.0))
