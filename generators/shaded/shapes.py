"""Closed meshes of simple bodies: turned, upright prisms of a plan, blocks, wires."""

from __future__ import annotations

from collections.abc import Sequence

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from generators.meshes.mesh import Mesh, joined_mesh

__all__ = ["block", "curve", "lathe", "moved", "prism", "section", "tube"]

FLAT_MM2 = 1e-9  # a triangle of less is left out
STEPS = 16  # of a curve between two of its points
WIRE_SIDES = 14
FINE_MM = 0.02  # corners of a plan nearer to a straight line than this are left out


def lathe(profile_mm: Sequence[tuple[float, float]], sides: int = 40) -> Mesh:
    """A body turned about z from (radius, z) pairs that run from its lower to its upper end, on its
    outer side: outwards is to their right."""
    profile = np.asarray(profile_mm, dtype=np.float64)
    turn = np.arange(sides) * (2.0 * np.pi / sides)
    radius, z = profile[:, :1], profile[:, 1:]
    points = np.stack(
        [radius * np.cos(turn), radius * np.sin(turn), np.repeat(z, sides, axis=1)], axis=2
    ).reshape(-1, 3)
    return _kept(points, _quads(len(profile), sides))


def tube(points_mm: NDArray[np.float64], radius_mm: float) -> Mesh:
    """A round wire along points (n, 3), its ends closed."""
    along = np.gradient(points_mm, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    beside = np.empty_like(along)
    aside = np.cross(along[0], (0.3, 0.2, 1.0))
    for k, way in enumerate(along):  # carried along, so that it never twists
        aside = aside - way * (aside @ way)
        aside /= np.linalg.norm(aside)
        beside[k] = aside
    across = np.cross(along, beside)
    turn = np.arange(WIRE_SIDES) * (2.0 * np.pi / WIRE_SIDES)
    ring = beside[:, None] * np.cos(turn)[:, None] + across[:, None] * np.sin(turn)[:, None]
    body = points_mm[:, None] + radius_mm * ring
    ends = np.repeat(points_mm[[0, -1]][:, None], WIRE_SIDES, axis=1)
    rings = np.concatenate([ends[:1], body, ends[1:]])
    return _kept(rings.reshape(-1, 3), _quads(len(rings), WIRE_SIDES))


def curve(points_mm: Sequence[Sequence[float]]) -> NDArray[np.float64]:
    """A smooth way (n, 3) through points, cubic from each to the next with the slope between its
    neighbours (Catmull and Rom's spline, from memory)."""
    given = np.asarray(points_mm, dtype=np.float64)
    ends = 2 * given[0] - given[1], 2 * given[-1] - given[-2]
    way = np.vstack([ends[0], given, ends[1]])
    t = np.linspace(0.0, 1.0, STEPS, endpoint=False)[:, None]
    pieces = [
        0.5
        * (
            2 * b
            + (c - a) * t
            + (2 * a - 5 * b + 4 * c - d) * t**2
            + (3 * b - 3 * c + d - a) * t**3
        )
        for a, b, c, d in zip(way, way[1:], way[2:], way[3:], strict=False)
    ]
    return np.vstack([*pieces, given[-1:]])


def prism(plan: BaseGeometry, z0_mm: float, z1_mm: float) -> Mesh:
    """A plan with its holes from one height to another; ``plan`` of polygons, not empty."""
    rings: list[NDArray[np.float64]] = []
    for part in shapely.get_parts(shapely.orient_polygons(plan.simplify(FINE_MM))):
        if isinstance(part, shapely.Polygon) and not part.is_empty:
            outer = shapely.get_coordinates(part.exterior)[:-1]
            rings += [outer, *(np.asarray(hole.coords)[:-1] for hole in part.interiors)]
    cross = manifold3d.CrossSection(rings, manifold3d.FillRule.NonZero)
    made = manifold3d.Manifold.extrude(cross, z1_mm - z0_mm).to_mesh()
    points = np.asarray(made.vert_properties[:, :3], dtype=np.float64) + (0.0, 0.0, z0_mm)
    return Mesh(points, np.asarray(made.tri_verts, dtype=np.int64))


def section(meshes: Sequence[Mesh], z_mm: float) -> BaseGeometry:
    """What closed meshes fill at one height, in the plan."""
    found: list[BaseGeometry] = [shapely.Polygon()]
    for one in meshes:
        solid = manifold3d.Manifold(manifold3d.Mesh64(one.vertices_mm, one.faces.astype(np.uint64)))
        rings = solid.slice(z_mm).to_polygons()
        filled = [shapely.Polygon(ring) for ring in rings if len(ring) > 2]
        whole: BaseGeometry = shapely.Polygon()
        for ring in filled:  # holes lie in what surrounds them
            whole = whole.symmetric_difference(ring.buffer(0))
        found.append(whole)
    return shapely.union_all(found)


def block(low_mm: Sequence[float], high_mm: Sequence[float]) -> Mesh:
    """An upright block between two corners."""
    (x0, y0, z0), (x1, y1, z1) = low_mm, high_mm
    return prism(shapely.box(x0, y0, x1, y1), z0, z1)


def moved(one: Mesh, shift_mm: Sequence[float]) -> Mesh:
    """The mesh at another place."""
    return Mesh(one.vertices_mm + np.asarray(shift_mm, dtype=np.float64), one.faces)


def joined(*meshes: Mesh) -> Mesh:
    """Several as one."""
    return joined_mesh(meshes)


def _quads(rings: int, sides: int) -> NDArray[np.int64]:
    """Faces between rings of points that follow each other."""
    i, j = np.meshgrid(np.arange(rings - 1), np.arange(sides), indexing="ij")
    after = (j + 1) % sides
    quads = np.stack(
        [i * sides + j, i * sides + after, (i + 1) * sides + after, (i + 1) * sides + j], axis=2
    ).reshape(-1, 4)
    return np.vstack([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]]).astype(np.int64)


def _kept(points: NDArray[np.float64], faces: NDArray[np.int64]) -> Mesh:
    """Without triangles that have no area."""
    a, b, c = (points[faces[:, k]] for k in range(3))
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
    return Mesh(points, faces[area > FLAT_MM2])
