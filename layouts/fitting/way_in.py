"""Is there a straight insertion path: the pack's swept outside against all obstacles.

Moved out along a direction, each outer triangle sweeps a prism. What it meets is found exactly,
triangle against triangle: where their shadows along the direction overlap, the obstacle lies
ahead or behind. No steps, so nothing thin is jumped over.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.fitting.body import PackBody
from layouts.fitting.gap import TOLERANCE_MM, moved
from layouts.fitting.obstacles import Obstacle, side_words

__all__ = ["Travel", "travel", "travels"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# a wall of the free space this square to the way counts as the open side one goes through
SQUARE = 0.9
EDGE_ON = 1e-7  # triangles seen this nearly edge-on cast no shadow
NO_SHADOW_MM2 = 1e-5  # shadows that overlap by less only touch
WALLS = 4  # most frequent directions of slanting walls that are tried besides the axes
FREQUENT = 0.05  # of the free space's walls
PAIRS_A_LOT = 20_000


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Travel:
    """How far a pack can be moved straight out of its place along ``way`` (3,).

    ``free_mm``: None where nothing stops it: reversed, it is an insertion path. ``through``: the
    free space's side that must be open for it, "" where there is none. ``ours``, ``theirs``,
    ``at_mm``: what meets what first, and where on the pack in its place."""

    way: tuple[float, float, float]
    name: str
    through: str
    free_mm: float | None
    ours: str = ""
    theirs: str = ""
    at_mm: tuple[float, float, float] | None = None


def travels(body: PackBody, obstacles: Sequence[Obstacle], pose: FloatArray) -> tuple[Travel, ...]:
    """All straight paths: the space's six axes, and outwards through its slanting walls.

    Free ones first, up before sideways before down, then the farthest.
    """
    ways = [sign * np.eye(3)[axis] for axis in (2, 0, 1) for sign in (1.0, -1.0)]
    ways += _slanting(obstacles)
    found = [travel(body, obstacles, pose, way) for way in ways]
    return tuple(
        sorted(
            found,
            key=lambda one: (
                one.free_mm is not None,
                -(one.free_mm or 0.0),
                -round(one.way[2], 6),
            ),
        )
    )


def _slanting(obstacles: Sequence[Obstacle]) -> list[FloatArray]:
    """Outward directions of the free space's frequent walls that no axis names."""
    found: list[FloatArray] = []
    for one in obstacles:
        if not one.room:
            continue
        corners = one.surface.corners
        cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        area = np.linalg.norm(cross, axis=1)
        outward = -one.surface.normal
        key, group = np.unique(np.round(outward, 2), axis=0, return_inverse=True)
        weight = np.bincount(group.reshape(-1), area)
        for k in np.argsort(-weight, kind="stable")[:WALLS]:
            way = key[k] / max(float(np.linalg.norm(key[k])), 1e-9)
            if weight[k] >= FREQUENT * weight.sum() and np.abs(way).max() < 0.999:
                found.append(way)
    return found


def travel(
    body: PackBody, obstacles: Sequence[Obstacle], pose: FloatArray, way: FloatArray
) -> Travel:
    """How far a body that overlaps nothing can be moved from its pose along one unit way."""
    name = side_words(way).removesuffix(" side").removeprefix("wall towards ")
    room = any(one.room for one in obstacles)
    through = f"the {side_words(way)} of the space" if room else ""
    frame = _frame(way)
    ours, owner = _leading(body, pose, frame)
    best: Travel | None = None
    nearest = np.inf
    low = float(ours[:, :, 2].min())
    plans = shapely.polygons(ours[:, :, :2])
    for one in obstacles:
        theirs, face = _facing(one, frame, low)
        if not len(theirs):
            continue
        tree = shapely.STRtree(shapely.polygons(theirs[:, :, :2]))
        i, j = tree.query(plans, predicate="intersects")
        hit = _first_hit(ours, theirs, i, j)
        if hit is None or hit[0] >= nearest:
            continue
        nearest = hit[0]
        free, k, m, at = hit
        where = frame.T @ at
        best = Travel(
            way=_three(way), name=name, through=through, free_mm=free,
            ours=body.solids[int(owner[k])].name, theirs=_named(one, face[m]), at_mm=_three(where),
        )  # fmt: skip
    if best is not None:
        return best
    return Travel(way=_three(way), name=name, through=through, free_mm=None)


def _named(one: Obstacle, normal: FloatArray) -> str:
    return f"the {side_words(-normal)} of the space" if one.room else f"'{one.name}'"


def _three(values: FloatArray) -> tuple[float, float, float]:
    x, y, z = (float(v) + 0.0 for v in values)
    return x, y, z


def _frame(way: FloatArray) -> FloatArray:
    """(3, 3) rows: two directions square to the way, and the way."""
    other = np.eye(3)[int(np.abs(way).argmin())]
    first = np.cross(other, way)
    first /= np.linalg.norm(first)
    return np.stack([first, np.cross(way, first), way])


def _normals(corners: FloatArray) -> FloatArray:
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(cross, axis=1, keepdims=True)
    unit: FloatArray = cross / np.where(size > 0, size, 1.0)
    return unit


def _leading(body: PackBody, pose: FloatArray, frame: FloatArray) -> tuple[FloatArray, IntArray]:
    """Outer triangles that face along the way, in the frame; and the solid of each."""
    all_, owner = [], []
    for number, solid in enumerate(body.solids):
        corners = moved(solid.vertices_mm[solid.faces[solid.outer]], pose) @ frame.T
        kept = _normals(corners)[:, 2] > EDGE_ON
        all_.append(corners[kept])
        owner.append(np.full(int(kept.sum()), number))
    return np.concatenate(all_), np.concatenate(owner)


def _facing(one: Obstacle, frame: FloatArray, low: float) -> tuple[FloatArray, FloatArray]:
    """Triangles that the way runs against and that reach above ``low``; with their normals."""
    corners = one.solid.vertices_mm[one.solid.faces]
    if one.room:
        corners = corners[:, ::-1]
    normal = _normals(corners)
    along = normal @ frame[2]
    kept = along < -EDGE_ON
    if one.room:
        kept &= along > -SQUARE
    there = corners[kept] @ frame.T
    ahead = there[:, :, 2].max(axis=1) > low
    return there[ahead], normal[kept][ahead]


def _first_hit(
    ours: FloatArray, theirs: FloatArray, i: IntArray, j: IntArray
) -> tuple[float, int, int, FloatArray] | None:
    """The least way to a pair of triangles that lies ahead: way, numbers, place on ours."""
    least = theirs[j, :, 2].max(axis=1) - ours[i, :, 2].min(axis=1)
    kept = np.flatnonzero(least > TOLERANCE_MM)
    bound = theirs[j, :, 2].min(axis=1) - ours[i, :, 2].max(axis=1)
    kept = kept[np.argsort(bound[kept], kind="stable")]
    best: tuple[float, int, int, FloatArray] | None = None
    our_planes, their_planes = _planes(ours), _planes(theirs)
    for start in range(0, len(kept), PAIRS_A_LOT):
        here = kept[start : start + PAIRS_A_LOT]
        if best is not None and bound[here[0]] > best[0]:
            break
        a = shapely.polygons(ours[i[here], :, :2])
        b = shapely.polygons(theirs[j[here], :, :2])
        shared = shapely.intersection(a, b)
        seen = np.flatnonzero(shapely.area(shared) > NO_SHADOW_MM2)
        if not len(seen):
            continue
        plan, which = shapely.get_coordinates(shared[seen], return_index=True)
        pair = here[seen][which]
        height = _heights(our_planes[i[pair]], plan)
        way = _heights(their_planes[j[pair]], plan) - height
        first = np.searchsorted(which, np.arange(len(seen)))
        ahead = np.maximum.reduceat(way, first) > TOLERANCE_MM
        if not ahead.any():
            continue
        place = np.flatnonzero(ahead[which])
        at = int(place[way[place].argmin()])
        free = max(float(way[at]), 0.0)
        if best is None or free < best[0]:
            spot = np.array([*plan[at], height[at]])
            best = (free, int(i[pair[at]]), int(j[pair[at]]), spot)
    return best


def _planes(corners: FloatArray) -> FloatArray:
    """(n, 3) height = c + gx x + gy y of each triangle's plane, none of them upright."""
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    slope = -normal[:, :2] / normal[:, 2:]
    base = corners[:, 0, 2] - (corners[:, 0, :2] * slope).sum(axis=1)
    planes: FloatArray = np.column_stack([base, slope])
    return planes


def _heights(planes: FloatArray, plan: FloatArray) -> FloatArray:
    """(n,) heights of planes over places (n, 2)."""
    heights: FloatArray = planes[:, 0] + (planes[:, 1:] * plan).sum(axis=1)
    return heights
