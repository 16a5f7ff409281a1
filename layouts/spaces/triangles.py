"""Triangles cut to a slab of heights, and what they cover in the plan."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.spaces.space import Solid

__all__ = ["section", "shadow"]

THIN_MM2 = 1e-9  # twice the area of a triangle in the plan: less stands upright, as walls do
NOTHING = shapely.Polygon()


def shadow(solid: Solid, z0_mm: float, z1_mm: float) -> BaseGeometry:
    """What a solid covers in the plan anywhere between two heights (both left out).

    A column of the plan meets the solid there either all the way, and then lies in any section,
    or crosses its surface, and then lies under a triangle cut to the slab. Exact for the given
    triangles but for floats.
    """
    return shapely.union_all([section(solid, z0_mm, z1_mm), surface_shadow(solid, z0_mm, z1_mm)])


def section(solid: Solid, z0_mm: float, z1_mm: float) -> BaseGeometry:
    """The solid's section at one height between two: at the one farthest from any corner.

    Even-odd, so that voids are left out.
    """
    heights = solid.vertices_mm[:, 2]
    within = heights[(heights > z0_mm) & (heights < z1_mm)]
    levels = np.unique(np.concatenate([[z0_mm], within, [z1_mm]]))
    widest = int(np.diff(levels).argmax())
    level = float(levels[widest] + levels[widest + 1]) / 2
    above = heights > level
    faces = solid.faces
    sides = above[faces]
    crossing = faces[sides.any(axis=1) & ~sides.all(axis=1)]
    if not len(crossing):
        return NOTHING
    edges = np.stack([crossing, np.roll(crossing, -1, axis=1)], axis=2)  # (m, 3, 2)
    cut = above[edges[..., 0]] != above[edges[..., 1]]  # two of three in each row
    ends = np.sort(edges[cut], axis=1)  # sorted: neighbours get the very same point
    low, high = solid.vertices_mm[ends[:, 0]], solid.vertices_mm[ends[:, 1]]
    share = (level - low[:, 2]) / (high[:, 2] - low[:, 2])
    points = (low + share[:, None] * (high - low))[:, :2].reshape(-1, 2, 2)
    points = points[(points[:, 0] != points[:, 1]).any(axis=1)]
    return shapely.build_area(shapely.MultiLineString(list(points)))


def surface_shadow(solid: Solid, z0_mm: float, z1_mm: float) -> BaseGeometry:
    """What the surface alone covers in the plan between two heights.

    Of the triangles that face up, and of those that face down, only the rim matters: edges that
    two of them share lie within. The rims cut the plan into cells, and each cell is covered
    where a triangle lies over a point of it.
    """
    corners, sizes = cut_to_slab(solid.vertices_mm[solid.faces], z0_mm, z1_mm)
    if not len(corners):
        return NOTHING
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    owner = np.repeat(np.arange(len(sizes)), sizes)
    after = np.arange(len(corners)) + 1
    after[starts + sizes - 1] = starts  # the corner that follows, round each polygon
    here, there = corners[:, :2], corners[after, :2]
    twice = np.add.reduceat(here[:, 0] * there[:, 1] - here[:, 1] * there[:, 0], starts)
    flat = np.abs(twice) > THIN_MM2
    if not flat.any():
        return NOTHING
    kept = flat[owner]
    up = (twice > 0)[owner]
    rims = [_rim(corners[kept & way], corners[after][kept & way]) for way in (up, ~up)]
    lines = shapely.union_all(shapely.linestrings(np.concatenate(rims)))
    cells = shapely.get_parts(shapely.polygonize([lines]))
    polygons = shapely.polygons(
        shapely.linearrings(here[kept], indices=np.repeat(np.arange(flat.sum()), sizes[flat]))
    )
    inside = shapely.point_on_surface(cells)
    # a point may lie on an edge that two triangles share: that counts as under them
    covered = np.unique(shapely.STRtree(polygons).query(inside, predicate="intersects")[0])
    return shapely.union_all(cells[covered])


def cut_to_slab(
    triangles_mm: NDArray[np.float64], z0_mm: float, z1_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Triangles (n, 3, 3) cut to z0 <= z <= z1: corners (k, 3) of the polygons left, row after
    row, and how many corners (3 to 5) each has. Those that only touch the slab are left out."""
    heights = triangles_mm[..., 2]
    touched = (heights.max(axis=1) > z0_mm) & (heights.min(axis=1) < z1_mm)
    some, low, high = triangles_mm[touched], heights[touched].min(1), heights[touched].max(1)
    whole = (low >= z0_mm) & (high <= z1_mm)
    flat, sizes = some[whole].reshape(-1, 3), np.full(int(whole.sum()), 3, dtype=np.int64)
    part = some[~whole]
    corners, counts = part.reshape(-1, 3), np.full(len(part), 3, dtype=np.int64)
    for sign, level in ((1.0, z0_mm), (-1.0, z1_mm)):
        corners, counts = _cut(corners, counts, sign, level)
    return np.concatenate([flat, corners]), np.concatenate([sizes, counts])


def _cut(
    corners: NDArray[np.float64], sizes: NDArray[np.int64], sign: float, level: float
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Convex polygons cut to ``sign * (z - level) >= 0``, side by side in one array."""
    if not len(sizes):
        return corners, sizes
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    owner = np.repeat(np.arange(len(sizes)), sizes)
    after = np.arange(len(corners)) + 1
    after[starts + sizes - 1] = starts
    over = sign * (corners[:, 2] - level)
    beyond = over[after]
    stays = over >= 0
    crosses = (over < 0) != (beyond < 0)
    first, second = corners, corners[after]
    swap = over > beyond  # from the lower end always: neighbours get the very same point
    low = np.where(swap[:, None], second, first)
    high = np.where(swap[:, None], first, second)
    span = np.where(crosses, np.abs(beyond - over), 1.0)
    share = np.where(crosses, -np.minimum(over, beyond) / span, 0.0)
    cut = low + share[:, None] * (high - low)
    cut[:, 2] = level
    # each corner that stays, then the crossing on the side that follows it
    rows = np.concatenate([np.flatnonzero(stays), np.flatnonzero(crosses)])
    order = np.argsort(2 * rows + np.repeat([0, 1], [stays.sum(), crosses.sum()]), kind="stable")
    points = np.concatenate([corners[stays], cut[crosses]])[order]
    counts = np.bincount(owner[rows], minlength=len(sizes))
    full = counts >= 3
    return points[np.repeat(full, counts)], counts[full]


def _rim(starts: NDArray[np.float64], ends: NDArray[np.float64]) -> NDArray[np.float64]:
    """(k, 2, 2) plan of the directed edges (n, 3) that no edge the other way cancels."""
    swap = np.zeros(len(starts), dtype=bool)
    undecided = np.ones(len(starts), dtype=bool)
    for axis in range(3):
        swap |= undecided & (starts[:, axis] > ends[:, axis])
        undecided &= starts[:, axis] == ends[:, axis]
    low = np.where(swap[:, None], ends, starts) + 0.0  # + 0.0: no minus before zero
    high = np.where(swap[:, None], starts, ends) + 0.0
    rows = np.ascontiguousarray(np.concatenate([low, high], axis=1))
    keys = rows.view(np.dtype((np.void, rows.dtype.itemsize * 6))).ravel()
    _, index, inverse = np.unique(keys, return_index=True, return_inverse=True)
    balance = np.bincount(inverse, weights=np.where(swap, -1.0, 1.0))
    left = rows[index[balance != 0]][:, [0, 1, 3, 4]].reshape(-1, 2, 2)
    return np.asarray(left[(left[:, 0] != left[:, 1]).any(axis=1)])
