"""What of the plan is free between two heights; spaces turned; spaces as meshes."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from layouts.spaces.bodies import box_solid, cylinder_solid
from layouts.spaces.regions import (
    free_region,
    free_width_mm,
    prism_solid,
    space_mesh,
    turned,
)
from layouts.spaces.space import Prism, Solid, Space, box_space
from layouts.spaces.triangles import cut_to_slab, section, shadow
from tests.layouts.spaces.solids import mesh_of, solid_of

L_SHAPE = Prism(
    outline_mm=((0, 0), (100, 0), (100, 40), (40, 40), (40, 80), (0, 80)),
    holes_mm=(((10, 10), (10, 20), (20, 20), (20, 10)),),
    height_mm=50,
)
L_AREA = 100 * 40 + 40 * 40 - 100


def test_a_prism_is_free_between_its_floor_and_its_top() -> None:
    """The whole plan within its height, nothing where the heights leave it."""
    space = Space(room=L_SHAPE)
    assert free_region(space, 0, 50).area == L_AREA
    assert free_region(space, -1, 20).is_empty
    assert free_region(space, 0, 50.1).is_empty
    with pytest.raises(ValueError, match="no height"):
        free_region(space, 20, 20)


def test_a_prism_and_its_mesh_have_the_same_regions() -> None:
    """Straight-sided shapes come out exact from triangles too, without stray corners."""
    as_mesh = Space(room=prism_solid(L_SHAPE))
    for low, high in ((0, 50), (5, 10), (0, 1e-3)):
        found = free_region(as_mesh, low, high)
        assert found.symmetric_difference(free_region(Space(room=L_SHAPE), low, high)).area < 1e-6
        assert shapely.get_num_coordinates(found) == 7 + 5
    assert free_region(as_mesh, 0, 51).is_empty


def test_keep_outs_count_where_the_heights_meet_them() -> None:
    """Taken out within their height, left alone where they only touch the slab."""
    box = box_solid("b", (40, 40, 20), (60, 70, 30), field="f")
    space = replace(box_space((200, 100, 50)), keep_out=(box,))
    assert free_region(space, 0, 50).area == pytest.approx(20000 - 600)
    assert free_region(space, 22, 25).area == pytest.approx(20000 - 600)  # wholly within it
    assert free_region(space, 0, 20).area == 20000
    assert free_region(space, 30, 50).area == 20000
    across = replace(space, keep_out=(box_solid("w", (90, -5, 0), (110, 105, 9), field="f"),))
    assert isinstance(free_region(across, 0, 9), shapely.MultiPolygon)
    full = replace(space, keep_out=(box_solid("all", (-1, -1, 0), (201, 101, 9), field="f"),))
    assert free_region(full, 0, 9).is_empty


def test_a_ball_shaped_room_is_as_wide_as_its_narrower_end() -> None:
    """Between -50 and 80 of a ball of 100 the circle at 80 is free: pi (100^2 - 80^2)."""
    ball = trimesh.creation.icosphere(4, radius=100)
    region = free_region(Space(room=solid_of(ball)), -50, 80)
    assert region.area == pytest.approx(math.pi * 3600, rel=5e-3)
    assert region.area < math.pi * 3600  # triangles lie within the ball


def test_the_shadow_of_a_ball_is_its_widest_section() -> None:
    """Above the middle its lower end counts, across the middle the equator."""
    ball = solid_of(trimesh.creation.icosphere(4, radius=100))
    assert shadow(ball, 20, 80).area == pytest.approx(math.pi * 9600, rel=3e-3)
    assert shadow(ball, -20, 80).area == pytest.approx(math.pi * 10000, rel=3e-3)
    assert section(ball, 59.9, 60.1).area == pytest.approx(math.pi * 6400, rel=3e-3)
    assert shadow(ball, 101, 120).is_empty


def test_a_ring_and_a_void_leave_holes() -> None:
    """A torus space has its hole; a block space with a ball-shaped void has that void."""
    torus = solid_of(trimesh.creation.torus(80, 30, major_sections=96, minor_sections=48))
    reach = math.sqrt(900 - 100)
    ring = free_region(Space(room=torus), -10, 10)
    assert ring.area == pytest.approx(math.pi * ((80 + reach) ** 2 - (80 - reach) ** 2), rel=6e-3)
    block, ball = trimesh.creation.box((200, 200, 200)), trimesh.creation.icosphere(3, radius=50)
    ball.invert()
    room = Space(room=solid_of(trimesh.util.concatenate([block, ball])))
    assert free_region(room, -60, 60).area == pytest.approx(40000 - math.pi * 2500, rel=3e-3)
    assert free_region(room, 50, 100).area == pytest.approx(40000)


def columns(mesh: trimesh.Trimesh, points: np.ndarray, low: float, high: float) -> np.ndarray:
    """Whether each column of the plan lies within a mesh at every one of 41 heights."""
    heights = np.linspace(low + 0.01, high - 0.01, 41)
    grid = np.array([[x, y, z] for x, y in points for z in heights])
    return mesh.contains(grid).reshape(len(points), -1).all(axis=1)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(st.integers(0, 10**6), st.floats(-40, 0), st.floats(5, 40))
def test_any_turned_body_agrees_with_its_columns(seed, low, high) -> None:
    """Free area of a rough body, turned anyhow, against points tested by trimesh."""
    rng = np.random.default_rng(seed)
    mesh = trimesh.creation.icosphere(2, radius=60)
    mesh.vertices *= rng.uniform(0.8, 1.2, (len(mesh.vertices), 1))
    mesh.apply_transform(trimesh.transformations.random_rotation_matrix(rng.uniform(size=3)))
    region = free_region(Space(room=solid_of(mesh)), low, high)
    points = rng.uniform(-80, 80, (60, 2))
    clear = np.array([abs(region.boundary.distance(shapely.Point(p))) > 1.0 for p in points])
    found = shapely.contains_xy(region, points)
    assert (found[clear] == columns(mesh, points[clear], low, high)).all()


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.integers(0, 10**6), st.floats(-30, 10), st.floats(0.5, 40))
def test_triangles_are_cut_to_a_slab_without_losing_area(seed, low, span) -> None:
    """Cutting level bands apart keeps each triangle's area in the plan, and nothing leaves the
    band."""
    triangles = np.random.default_rng(seed).uniform(-50, 50, (20, 3, 3))
    levels = [-51.0, low, low + span, 51.0]
    total = 0.0
    for z0, z1 in zip(levels, levels[1:], strict=False):
        corners, sizes = cut_to_slab(triangles, z0, z1)
        assert ((corners[:, 2] >= z0) & (corners[:, 2] <= z1)).all()
        parts = np.split(corners[:, :2], np.cumsum(sizes)[:-1])
        total += sum(shapely.Polygon(part).area for part in parts)
    assert total == pytest.approx(sum(shapely.Polygon(t[:, :2]).area for t in triangles))


def test_surroundings_alone_are_bounded_by_their_box() -> None:
    """Without a free space the box round the keep-outs bounds the free area."""
    frame = trimesh.creation.annulus(40, 60, 30)
    frame.apply_translation((0, 0, 15))
    space = Space(room=None, keep_out=(solid_of(frame),))
    hole = free_region(space, 0, 30)
    middle = [part for part in shapely.get_parts(hole) if part.contains(shapely.Point(0, 0))]
    assert middle[0].area == pytest.approx(math.pi * 1600, rel=0.02)
    assert free_region(space, 0, 40).is_empty


@pytest.mark.parametrize("axis", ["x", "y", "z"])
def test_a_turned_space_is_the_same_space(axis) -> None:
    """The turn is proper, takes the axis to z, and keeps volumes and every keep-out."""
    wheel = cylinder_solid("wheel", (10, 10, 10), (20, 15, 40), 5, field="f")
    space = Space(room=L_SHAPE, keep_out=(wheel,), source="s", notes=("n",))
    there, pose = turned(space, axis)
    assert np.linalg.det(pose) == pytest.approx(1.0)
    assert (pose[:3, :3] @ np.eye(3)["xyz".index(axis)]).tolist() == [0, 0, 1]
    assert there.source == "s" and there.notes == ("n",)
    for before, after in zip(space_mesh(space), space_mesh(there), strict=True):
        mesh = mesh_of(after)
        assert mesh.is_volume and mesh.volume == pytest.approx(mesh_of(before).volume)
        expected = mesh_of(before).apply_transform(pose).bounds
        assert mesh.bounds == pytest.approx(expected)


def test_a_turned_box_stays_a_box() -> None:
    """A box at the origin is a box again, sides in the order x, y, z follow each other."""
    for axis, sides in (("x", (20, 30, 10)), ("y", (30, 10, 20)), ("z", (10, 20, 30))):
        there, _ = turned(box_space((10, 20, 30)), axis)
        assert there.is_box and there.box_mm == sides


def test_a_turned_space_is_open_on_the_same_sides() -> None:
    """A side of the turned box is open where the pose takes an open side of the box."""
    space = replace(box_space((10, 20, 30)), open_sides=("+x", "-y", "+z"))

    def ways(of: Space) -> np.ndarray:
        return np.array([np.eye(3)["xyz".index(s[1])] * float(s[0] + "1") for s in of.open_sides])

    for axis in "xyz":
        there, pose = turned(space, axis)
        assert ways(there) == pytest.approx(ways(space) @ pose[:3, :3].T)


def test_a_prism_lying_down_is_free_where_its_steps_allow() -> None:
    """The L seen along x: over 0 to 40 of its arm all heights are free, over 0 to 100 few."""
    bare = replace(L_SHAPE, holes_mm=())
    there, _ = turned(Space(room=bare), "x")  # y becomes x, z becomes y, x becomes z
    assert isinstance(there.room, Solid)
    assert free_region(there, 0, 40).area == pytest.approx(80 * 50)
    assert free_region(there, 0, 100).area == pytest.approx(40 * 50)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.lists(st.floats(20, 200), min_size=3, max_size=20), st.booleans())
def test_any_prism_makes_a_closed_mesh_of_its_volume(radii, hole) -> None:
    """Watertight by trimesh, volume = area x height, for concave outlines with and without
    hole."""
    angles = [2 * math.pi * i / len(radii) for i in range(len(radii))]
    ring = tuple((r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, angles, strict=True))
    square = ((-3.0, -3.0), (-3.0, 3.0), (3.0, 3.0), (3.0, -3.0))
    prism = Prism(outline_mm=ring, holes_mm=(square,) if hole else (), height_mm=30)
    mesh = mesh_of(prism_solid(prism))
    assert mesh.is_volume
    assert mesh.volume == pytest.approx(30 * shapely.Polygon(ring, prism.holes_mm).area)


def test_the_free_width_bounds_the_largest_ball() -> None:
    """Of a prism its largest circle or height; of a mesh no less than the ball in it."""
    assert free_width_mm(Space(room=L_SHAPE)) == pytest.approx(40 * 2 / (1 + 2**-0.5), abs=8)
    assert free_width_mm(box_space((300, 200, 25))) == 25
    assert free_width_mm(box_space((300, 60, 250))) == pytest.approx(60, abs=0.21)
    ball = Space(room=solid_of(trimesh.creation.icosphere(3, radius=30)))
    assert 59 < free_width_mm(ball) <= 60.01
    assert free_width_mm(Space(room=None)) == math.inf
