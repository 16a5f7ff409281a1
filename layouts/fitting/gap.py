"""The smallest gap of a body at a pose, exactly, and whether it collides with anything."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.fitting.body import PackBody
from layouts.fitting.boxes import Boxes, boxes_of, near_pairs
from layouts.fitting.obstacles import Obstacle
from layouts.fitting.surface import Signed, Surface
from layouts.fitting.triangles import crossing_depth, triangle_gaps, winding

__all__ = ["TOLERANCE_MM", "Gap", "body_distances", "exact_gap", "inverse", "moved"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Gaps are exact to this; bodies that overlap by less touch. A thousandth of what is printed.
TOLERANCE_MM = 1e-3
FIRST_LOOKS = 500  # of the small triangles a first look is taken at so many
FIRST_PAIRS = 64  # nearest pairs by their middles, measured first: an upper bound
PAIRS_A_LOT = 20_000
INSIDE = 0.5  # of a winding number
LOOKS = 8_000  # of a body's points, for those that lie deepest
DEEPEST = 20  # of them that are looked round
ROUND_MM = 8.0
SURE_OF = 10  # of the deepest points it is made sure that they lie inside


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Gap:
    """The smallest gap: negative by how deep the bodies lie in each other.

    ``at_mm``: on the body, ``other_mm``: on the obstacle, both in the space's coordinates.
    ``face``: the body's outer triangle. ``obstacle``: number, and ``obstacle_face``; -1 where
    the body sticks through the floor.
    """

    gap_mm: float
    at_mm: FloatArray
    other_mm: FloatArray
    face: int
    obstacle: int
    obstacle_face: int


def moved(points: FloatArray, pose: FloatArray) -> FloatArray:
    """Points (..., 3) put to a (4, 4) pose."""
    there: FloatArray = points @ pose[:3, :3].T + pose[:3, 3]
    return there


def inverse(pose: FloatArray) -> FloatArray:
    """The pose (4, 4) that takes back what a turn and shift has moved."""
    back = np.eye(4)
    back[:3, :3] = pose[:3, :3].T
    back[:3, 3] = -pose[:3, :3].T @ pose[:3, 3]
    return back


def exact_gap(body: PackBody, obstacles: Sequence[Obstacle], pose: FloatArray) -> Gap:
    """The smallest gap between the body at a pose and all obstacles.

    Positive: exact to ``TOLERANCE_MM`` (triangle against triangle). Zero: they touch. Negative:
    they overlap, or the body lies outside of the space, or one holds the other; the depth is
    measured at points at most ``SPACING_MM`` apart, so it may be too small by that."""
    small = moved(body.surface.small, pose)
    best = _nearest(small, body.surface, obstacles)
    depth = _deepest(body, obstacles, pose, small, best)
    if depth is not None:
        return depth
    return best


def _nearest(small: FloatArray, surface: Surface, obstacles: Sequence[Obstacle]) -> Gap:
    """Least distance of the body's small triangles to any obstacle's."""
    ours = boxes_of(small)
    low, high = ours.low[-1].min(axis=0), ours.high[-1].max(axis=0)
    seen = []
    for number, one in enumerate(obstacles):
        apart = np.maximum(np.maximum(one.low_mm - high, low - one.high_mm), 0.0)
        seen.append((0.0 if one.room else float(np.linalg.norm(apart)), number))
    nowhere = small[0, 0]
    best = Gap(
        gap_mm=np.inf, at_mm=nowhere, other_mm=nowhere, face=0, obstacle=-1, obstacle_face=-1
    )
    for least, number in sorted(seen):
        if least >= best.gap_mm:
            continue
        wall = obstacles[number].surface
        found = _nearest_pair(small, ours, wall, best.gap_mm)
        if found is not None:
            gap, at, other, i, j = found
            best = Gap(
                gap_mm=gap,
                at_mm=at,
                other_mm=other,
                face=int(surface.parent[i]),
                obstacle=number,
                obstacle_face=int(wall.parent[j]),
            )
    return best


def _nearest_pair(
    small: FloatArray, ours: Boxes, wall: Surface, below: float
) -> tuple[float, FloatArray, FloatArray, int, int] | None:
    """Nearest pair of small triangles of a body and of one obstacle; None where not ``below``."""
    step = max(1, len(small) // FIRST_LOOKS)
    looked = np.arange(0, len(small), step)
    far, index = wall.tree.query(small[looked].mean(axis=1), eps=0.2)
    first = np.argsort(far, kind="stable")[:FIRST_PAIRS]
    best = _best_pair(small, wall, looked[first], index[first])
    limit = min(best[0], below)
    for i, j, bound in _lots(small, ours, wall, limit - TOLERANCE_MM):
        if bound > best[0] - TOLERANCE_MM:
            break
        found = _best_pair(small, wall, i, j)
        if found[0] < best[0]:
            best = found
    return best if best[0] < below else None


def _best_pair(
    small: FloatArray, wall: Surface, i: IntArray, j: IntArray
) -> tuple[float, FloatArray, FloatArray, int, int]:
    on_body, on_wall = triangle_gaps(small[i], wall.small[j])
    gaps = np.linalg.norm(on_body - on_wall, axis=1)
    k = int(gaps.argmin())
    return float(gaps[k]), on_body[k], on_wall[k], int(i[k]), int(j[k])


def _lots(
    small: FloatArray, ours: Boxes, wall: Surface, below: float
) -> Iterator[tuple[IntArray, IntArray, float]]:
    """Pairs of small triangles that may be nearer than ``below``, the most likely first.

    With a bound below the distances of all that are still to come. Boxes sort out most pairs,
    the planes of the wall's triangles most of the rest.
    """
    i, j, bound = near_pairs(ours, wall.boxes, max(below, 0.0))
    normal = wall.normal[wall.parent[j]]
    above = np.einsum("nki,ni->nk", small[i] - wall.small[j][:, :1], normal)
    bound = np.maximum(bound, np.maximum(above.min(axis=1), -above.max(axis=1)))
    kept = np.flatnonzero(bound <= max(below, 0.0))
    kept = kept[np.argsort(bound[kept], kind="stable")]
    for lot in range(0, len(kept), PAIRS_A_LOT):
        here = kept[lot : lot + PAIRS_A_LOT]
        yield i[here], j[here], float(bound[here[0]])


def _deepest(
    body: PackBody, obstacles: Sequence[Obstacle], pose: FloatArray, small: FloatArray, best: Gap
) -> Gap | None:
    """The deepest overlap where there is one."""
    found = []
    points = moved(body.points, pose)
    if any(one.floor for one in obstacles):
        k = int(points[:, 2].argmin())
        if points[k, 2] < -TOLERANCE_MM:
            floor = points[k] * (1.0, 1.0, 0.0)
            face = _face_at(body, body.points[k])
            found.append(
                Gap(
                    gap_mm=float(points[k, 2]),
                    at_mm=points[k],
                    other_mm=floor,
                    face=face,
                    obstacle=-1,
                    obstacle_face=-1,
                )
            )
    if best.gap_mm <= TOLERANCE_MM:
        found += _overlaps(body, obstacles, pose, small, points)
    elif _held(body, obstacles, pose):
        # nothing crosses, yet one lies wholly within the other or outside of the space
        found += _sampled(body, obstacles, pose, points)
        found = found or [replace(best, gap_mm=-best.gap_mm)]
    deep = [one for one in found if one.gap_mm < -TOLERANCE_MM]
    return min(deep, key=lambda one: one.gap_mm) if deep else None


def _overlaps(
    body: PackBody,
    obstacles: Sequence[Obstacle],
    pose: FloatArray,
    small: FloatArray,
    points: FloatArray,
) -> list[Gap]:
    """Overlaps of surfaces that touch or cross: by crossing sides and by points inside."""
    found = _sampled(body, obstacles, pose, points)
    ours = boxes_of(small)
    for number, one in enumerate(obstacles):
        for i, j, _ in _lots(small, ours, one.surface, TOLERANCE_MM):
            depth = crossing_depth(small[i], one.surface.small[j], TOLERANCE_MM)
            k = int(depth.argmax())
            if depth[k] > TOLERANCE_MM:
                on_body, on_wall = triangle_gaps(
                    small[i[k : k + 1]], one.surface.small[j[k : k + 1]]
                )
                found.append(
                    Gap(
                        gap_mm=-float(depth[k]),
                        at_mm=on_body[0],
                        other_mm=on_wall[0],
                        face=int(body.surface.parent[i[k]]),
                        obstacle=number,
                        obstacle_face=int(one.surface.parent[j[k]]),
                    )
                )
    return found


def _sampled(
    body: PackBody, obstacles: Sequence[Obstacle], pose: FloatArray, points: FloatArray
) -> list[Gap]:
    """The deepest of the body's points in each obstacle, and of each obstacle's in the body."""
    found = []
    back = inverse(pose)
    for number, one in enumerate(obstacles):
        where = _likely(points, one)
        if len(where):
            seen = one.surface.signed(points[where])
            corners = one.solid.vertices_mm[one.solid.faces]
            for k in _deep_ones(seen.distance_mm):
                there = points[where[k]]
                if (winding(there[None], corners)[0] > INSIDE) != one.room:
                    found.append(
                        Gap(
                            gap_mm=float(seen.distance_mm[k]),
                            at_mm=there,
                            other_mm=seen.point[k],
                            face=_face_at(body, body.points[where[k]]),
                            obstacle=number,
                            obstacle_face=int(seen.face[k]),
                        )
                    )
                    break
        its = np.vstack([one.surface.middle, one.surface.small.reshape(-1, 3)])
        parent = np.concatenate([one.surface.parent, np.repeat(one.surface.parent, 3)])
        ours = moved(its, back)
        near = np.flatnonzero(((ours > body.low_mm) & (ours < body.high_mm)).all(axis=1))
        if not len(near):
            continue
        distance, on_body, _ = body_distances(body, ours[near])
        for k in _deep_ones(distance):
            if _inside_body(body, ours[near[k]][None])[0]:
                found.append(
                    Gap(
                        gap_mm=float(distance[k]),
                        at_mm=moved(on_body[k], pose),
                        other_mm=its[near[k]],
                        face=_face_at(body, on_body[k]),
                        obstacle=number,
                        obstacle_face=int(parent[near[k]]),
                    )
                )
                break
    return found


def _deep_ones(distance: FloatArray) -> IntArray:
    """Numbers of the deepest points, to be made sure of one by one."""
    order = np.argsort(distance, kind="stable")[:SURE_OF]
    return order[distance[order] < -TOLERANCE_MM]


def _likely(points: FloatArray, one: Obstacle) -> IntArray:
    """Numbers of the points that may lie deepest in an obstacle or outside of the space.

    A coarse look at some decides around which ones to look at all."""
    if not one.room:
        return np.flatnonzero(_in_box(points, one, TOLERANCE_MM))
    some = points[:: max(1, len(points) // LOOKS)]
    rough = one.surface.signed(some, share=0.3, candidates=1).distance_mm
    deepest = some[np.argsort(rough, kind="stable")[:DEEPEST]]
    apart = cKDTree(deepest).query(points, distance_upper_bound=ROUND_MM)[0]
    return np.flatnonzero(np.isfinite(apart))


def _in_box(points: FloatArray, one: Obstacle, margin: float) -> NDArray[np.bool_]:
    above, below = points >= one.low_mm - margin, points <= one.high_mm + margin
    return np.asarray((above & below).all(axis=1), dtype=np.bool_)


def _face_at(body: PackBody, point: FloatArray) -> int:
    """The outer triangle nearest to a point in the pack's coordinates."""
    return int(body.surface.signed(point[None]).face[0])


def _held(body: PackBody, obstacles: Sequence[Obstacle], pose: FloatArray) -> bool:
    """Whether, with no surfaces crossing, bodies lie within each other or outside of the space."""
    names: dict[str, FloatArray] = {}
    for solid in body.solids:
        if solid.outer.any():
            names.setdefault(solid.name, solid.vertices_mm[solid.faces[solid.outer][0, 0]])
    ours = moved(np.array(list(names.values())), pose)
    back = inverse(pose)
    for one in obstacles:
        corners = one.solid.vertices_mm[one.solid.faces]
        near = np.ones(len(ours), np.bool_) if one.room else _in_box(ours, one, 0.0)
        if near.any():
            held = winding(ours[near], corners) > INSIDE
            if held.any() != one.room or (one.room and not held.all()):
                return True
        theirs = moved(one.apart, back)
        there = ((theirs > body.low_mm) & (theirs < body.high_mm)).all(axis=1)
        if there.any() and _inside_body(body, theirs[there]).any():
            return True
    return False


def _inside_body(body: PackBody, points: FloatArray) -> NDArray[np.bool_]:
    """(n,) whether points in the pack's coordinates lie in any of the body's solids."""
    inside = np.zeros(len(points), np.bool_)
    for solid in body.solids:
        if solid.planes is not None:
            beyond = points @ solid.planes[:, :3].T - solid.planes[:, 3]
            inside |= (beyond < 0.0).all(axis=1)
        else:
            inside |= winding(points, solid.vertices_mm[solid.faces]) > INSIDE
    return inside


def body_distances(
    body: PackBody, points: FloatArray, *, share: float = 0.0
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Distances (n,) of points (n, 3) in the pack's coordinates to the body, negative inside.

    Also the nearest points of the body (n, 3), and the unit ways (n, 3) in which the body must
    move for the distance to grow. ``share``: as in ``Surface.signed``.
    """
    near = body.surface.signed(points, share=share)
    distance = np.abs(near.distance_mm)
    away = near.point - points
    way = away / np.where(distance > 1e-9, distance, 1.0)[:, None]
    touching = distance <= 1e-9
    way[touching] = -body.surface.normal[near.face[touching]]
    on_body = near.point.copy()
    for where, seen in (_in_skin(body, points), *_in_convex(body, points)):
        deeper = seen.distance_mm < np.minimum(distance[where], 0.0)
        where = where[deeper]
        distance[where] = seen.distance_mm[deeper]
        way[where] = -seen.way[deeper]
        on_body[where] = seen.point[deeper]
    return distance, on_body, way


def _in_skin(body: PackBody, points: FloatArray) -> tuple[IntArray, Signed]:
    """Points behind the printed parts' outside, with their distances to it.

    Roughly: hidden triangles are left out of it, so beside an opening the side is a guess.
    """
    if body.skin is None:
        where = np.zeros(0, np.int64)
        return where, Signed(np.zeros(0), np.zeros((0, 3)), np.zeros((0, 3)), where)
    low, high = body.skin.boxes.low[-1].min(axis=0), body.skin.boxes.high[-1].max(axis=0)
    where = np.flatnonzero(((points > low) & (points < high)).all(axis=1))
    return where, body.skin.signed(points[where])


def _in_convex(body: PackBody, points: FloatArray) -> Iterator[tuple[IntArray, Signed]]:
    """For each convex solid the points within it, with their distances to its faces."""
    for solid in body.solids:
        if solid.planes is None:
            continue
        low, high = solid.vertices_mm.min(axis=0), solid.vertices_mm.max(axis=0)
        where = np.flatnonzero(((points > low) & (points < high)).all(axis=1))
        if len(where):
            beyond = points[where] @ solid.planes[:, :3].T - solid.planes[:, 3]
            face = beyond.argmax(axis=1)
            distance = beyond[np.arange(len(where)), face]
            way = solid.planes[face, :3]
            yield where, Signed(distance, points[where] - distance[:, None] * way, way, face)
