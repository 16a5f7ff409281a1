"""Depth, cut faces and shapes of solids whose picture is known."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from generators.meshes.mesh import Mesh
from generators.shaded.balloons import balloons_of
from generators.shaded.depth_map import Camera, depth_map, turned_view
from generators.shaded.normals import corner_normals
from generators.shaded.palette import Paint
from generators.shaded.shading import View, shaded_picture
from generators.shaded.shapes import block, lathe, prism, section, tube
from generators.shaded.things import Placed, Thing, Wedge
from generators.shaded.triangles import soup_of


def thing(mesh: Mesh, *, name: str = "solid", row: int = 1, cut: str = "") -> Thing:
    """One copy in its place."""
    placed = Placed(mesh=mesh, place=np.eye(4))
    return Thing(name=name, row=row, paint=Paint.TUB, copies=(placed,), cut=cut)


def above(wide: int, scale: float) -> Camera:
    """A camera over the origin, nearly straight from above, x to the right."""
    turn = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    return Camera(turn=turn, centre_mm=(0.0, 0.0), scale=scale, wide=wide, high=wide)


def test_a_cube_with_a_corner_cut_away_shows_the_cut() -> None:
    """Of a cube of side 20 the half x > 0 above z = 5 is cut away: there the cut lies at 5, the
    rest of the top at 20."""
    cube = thing(block((-10, -10, 0), (10, 10, 20)), cut="wedge")
    wedge: Wedge = (((1.0, 0.0, 0.0), 0.0), ((0.0, 0.0, 1.0), 5.0))
    seen = depth_map(soup_of([cube]), above(60, 2.0), {"wedge": wedge})
    z_mm = seen.depth / 2.0
    right, left = np.s_[12:48, 32:48], np.s_[12:48, 12:28]
    assert (seen.plane[right] == 1).all()  # the level plane of the wedge
    assert z_mm[right] == pytest.approx(5.0, abs=1e-4)
    assert (seen.plane[left] == -1).all()
    assert z_mm[left] == pytest.approx(20.0, abs=1e-4)
    assert (seen.face[:8] == -1).all()  # beside the cube there is nothing


def test_a_hollow_is_no_cut_face() -> None:
    """A tub of wall 2 cut down to z = 5 shows its walls cut, and its floor through the hollow."""
    outer, inner = block((-10, -10, 0), (10, 10, 20)), block((-8, -8, 2), (8, 8, 20))
    turned = Mesh(inner.vertices_mm + (0.0, 0.0, 0.001), inner.faces[:, ::-1])
    joined = Mesh(
        np.vstack([outer.vertices_mm, turned.vertices_mm]),
        np.vstack([outer.faces, turned.faces + len(outer.vertices_mm)]),
    )
    seen = depth_map(
        soup_of([thing(joined, cut="w")]), above(60, 2.0), {"w": (((0.0, 0.0, 1.0), 5.0),)}
    )
    middle, wall = np.s_[20:40, 20:40], np.s_[20:40, 11:13]
    assert (seen.plane[middle] == -1).all()
    assert seen.depth[middle] / 2.0 == pytest.approx(2.001, abs=1e-3)
    assert (seen.plane[wall] == 0).all()
    assert seen.depth[wall] / 2.0 == pytest.approx(5.0, abs=1e-4)


def test_what_another_wedge_cuts_stays_whole() -> None:
    """A wedge acts on the solids of its name alone."""
    cube = thing(block((-10, -10, 0), (10, 10, 20)), cut="other")
    seen = depth_map(soup_of([cube]), above(60, 2.0), {"w": (((0.0, 0.0, 1.0), 5.0),)})
    assert (seen.plane == -1).all()
    assert float(seen.depth.max()) / 2.0 == pytest.approx(20.0, abs=1e-4)


def test_the_nearer_of_two_hides_the_other() -> None:
    """Whatever their order; and inside a cut solid a bought one shows."""
    low = thing(block((-10, -10, 0), (10, 10, 4)), row=1, cut="w")
    high = thing(block((-4, -4, 6), (4, 4, 9)), row=2)
    wedge: Wedge = (((0.0, 0.0, 1.0), 2.0),)
    for things in ([low, high], [high, low]):
        soup = soup_of(things)
        seen = depth_map(soup, above(60, 2.0), {"w": wedge})
        rows = np.array([one.row for one in things])[soup.thing[seen.face[30, 30]]]
        assert rows == 2
        assert things[soup.thing[seen.face[15, 15]]].row == 1


def test_the_view_is_a_rotation_with_z_upright() -> None:
    """Right, up and towards the eye: right angles, unit lengths; z points up in the picture."""
    turn = turned_view((1.0, -1.25, 1.12))
    assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(turn) == pytest.approx(1.0)
    assert turn[0] @ (0, 0, 1) == pytest.approx(0.0, abs=1e-12)
    assert turn[1] @ (0, 0, 1) > 0


@pytest.mark.parametrize(
    ("mesh", "mm3"),
    [
        (lathe([(0, 0), (5, 0), (5, 12), (0, 12)], 48), 24 * math.sin(math.tau / 48) * 25 * 12),
        (lathe([(2, 0), (5, 0), (5, 3), (2, 3), (2, 0)], 48),
         24 * math.sin(math.tau / 48) * (25 - 4) * 3),
        (tube(np.array([(0.0, 0, 0), (0, 0, 10), (0, 0, 30)]), 2.0),
         7 * math.sin(math.tau / 14) * 4 * 30),
        (block((1, 2, 3), (4, 6, 8)), 3 * 4 * 5),
    ],
    ids=["bar", "collar", "wire", "block"],
)  # fmt: skip
def test_bodies_are_closed_and_of_their_volume(mesh: Mesh, mm3: float) -> None:
    """Prisms over regular polygons, by the area n/2 sin(2 pi/n) r2; and outside is outside."""
    body = trimesh.Trimesh(mesh.vertices_mm, mesh.faces)
    assert body.is_watertight
    assert mesh.volume_mm3() == pytest.approx(mm3, rel=1e-9)


def test_a_section_has_the_holes_of_the_solid() -> None:
    """Of a square tube only the wall is filled."""
    import shapely

    plan = shapely.box(0, 0, 10, 10).difference(shapely.box(2, 2, 8, 8))
    cut = section([prism(plan, 0.0, 5.0)], 2.5)
    assert cut.area == pytest.approx(100 - 36)
    assert not cut.contains(shapely.Point(5, 5))


def test_normals_are_round_on_a_bar_and_sharp_on_a_block() -> None:
    """On a bar they point straight away from its axis at each corner; on a block they are those
    of its faces."""
    bar = lathe([(0, 0), (5, 0), (5, 12), (0, 12)], 48)
    normals, corners = corner_normals(bar), bar.vertices_mm[bar.faces]
    side = np.abs(normals[..., 2]).max(axis=1) < 0.5
    out = corners[side][..., :2] / np.linalg.norm(corners[side][..., :2], axis=2)[..., None]
    assert (normals[side][..., :2] * out).sum(axis=2).min() > 0.999
    cube = block((0, 0, 0), (1, 1, 1))
    assert np.sort(np.abs(corner_normals(cube)), axis=2)[..., :2].max() < 1e-6


def test_a_lit_face_is_brighter_than_one_in_shade() -> None:
    """The light comes from the upper left: a cube's left face is brighter than its right one; its
    shadow falls beside it to the right."""
    cube = thing(block((-10, -10, 0), (10, 10, 20)))
    drawn = shaded_picture([cube], View(towards=(1.0, -1.0, 0.8), wide=120, high=160, samples=1))
    image, high, wide = drawn.image.astype(int), *drawn.thing.shape
    row = int(high * 0.6)
    on = np.flatnonzero(drawn.thing[row] == 0)
    left, right = on[len(on) // 4], on[3 * len(on) // 4]
    assert image[row, left, :3].sum() > 1.15 * image[row, right, :3].sum()
    alpha = np.where(drawn.thing < 0, image[..., 3], 0)
    columns = np.flatnonzero((drawn.thing == 0).any(axis=0))
    low = int(high * 0.75)  # on the ground beside the cube's foot
    assert alpha[low, columns[-1] + 2 : wide].sum() > alpha[low, : columns[0] - 2].sum()


def test_balloons_stand_apart_in_the_picture() -> None:
    """Many rows at one height: no two balloons touch, none leaves the picture, each anchor lies on
    its row."""
    seen = np.full((400, 600), -1, np.int16)
    for k in range(14):
        seen[180:210, 10 + 40 * k : 40 + 40 * k] = k
    rows = [k + 3 for k in range(14)]
    found = balloons_of(seen, rows)
    assert {one.row for one in found} == set(rows)
    for one in found:
        x, y = one.anchor_px
        assert rows[seen[y, x]] == one.row
        assert 15 <= one.middle_px[1] <= 385
    for side in (-1, 1):
        heights = sorted(one.middle_px[1] for one in found if one.side == side)
        assert np.diff(heights).min() > 30.0


def test_a_row_that_hardly_shows_gets_no_balloon() -> None:
    """A speck of a few pixels is left out."""
    seen = np.full((100, 100), -1, np.int16)
    seen[10:40, 10:40] = 0
    seen[70:73, 70:73] = 1
    assert [one.row for one in balloons_of(seen, [1, 2])] == [1]
