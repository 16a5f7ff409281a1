"""Main directions of flat faces, turns that lay them along each other, and turns of all kinds.

And what no pose of a turn can exceed: a body with a gap all round is no wider in any direction
than the free space is. This looks at thousands of turns in the time in which one is refined.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

from layouts.fitting.body import PackBody
from layouts.fitting.obstacles import Obstacle
from layouts.fitting.turns import by_vector

__all__ = ["Widths", "all_turns", "degrees_apart", "frames", "main_normals", "outermost"]

FloatArray = NDArray[np.float64]

SAME = 0.9995  # normals that lie along each other within 1.8 degrees count as one
LEAST_ANGLE = 0.2  # sine between two faces that decide a frame
WALLS = 12  # directions in which the free space's width is taken, besides its axes
CORNERS = 100  # of a body's hull that its widths are taken at
PHI = math.sqrt(2.0)
PSI = 1.533751168755204288  # real root of x^4 = x + 4
FIRST_DEG, LAST_DEG = 12.0, 0.3  # steps by which turns are bettered
MOST_A_STEP = 3  # times that the same step is taken


def all_turns(count: int) -> FloatArray:
    """(count, 3, 3) turns spread evenly over all that there are.

    Points of a spiral on the sphere of unit quaternions (M. Alexa, Super-Fibonacci Spirals, 2022);
    from memory, evenness is tested."""
    s = np.arange(count) + 0.5
    inner, outer = np.sqrt(s / count), np.sqrt(1.0 - s / count)
    a, b = math.tau * s / PHI, math.tau * s / PSI
    quaternions = np.column_stack(
        [inner * np.sin(a), inner * np.cos(a), outer * np.sin(b), outer * np.cos(b)]
    )
    turns: FloatArray = Rotation.from_quat(quaternions).as_matrix()
    return turns


def degrees_apart(turns: FloatArray, others: FloatArray) -> FloatArray:
    """(n, m) angles between turns (n, 3, 3) and (m, 3, 3)."""
    trace = turns.reshape(-1, 9) @ others.reshape(-1, 9).T
    return np.asarray(np.degrees(np.arccos(np.clip((trace - 1.0) / 2.0, -1.0, 1.0))))


def main_normals(normals: FloatArray, areas: FloatArray, *, most: int, share: float) -> FloatArray:
    """(k, 3) directions of the largest flat faces, both sides as one, the largest first.

    ``normals`` (n, 3) and ``areas`` (n,) of triangles; ``share``: of all area, at least."""
    big = np.abs(normals).argmax(axis=1)
    sign = np.where(normals[np.arange(len(normals)), big] < 0.0, -1.0, 1.0)
    normals = normals * sign[:, None]
    _, group = np.unique(np.round(normals, 2), axis=0, return_inverse=True)
    group = group.reshape(-1)
    sums = np.column_stack([np.bincount(group, areas * normals[:, k]) for k in range(3)])
    area = np.linalg.norm(sums, axis=1)
    kept: list[int] = []
    ways = sums / np.where(area > 0.0, area, 1.0)[:, None]
    for k in np.argsort(-area, kind="stable").tolist():
        if len(kept) == most or area[k] < share * areas.sum() or area[k] == 0.0:
            break
        if all(abs(float(ways[k] @ ways[other])) < SAME for other in kept):
            kept.append(k)
    return ways[kept]


def frames(normals: FloatArray, *, most: int) -> list[FloatArray]:
    """Frames (3, 3, columns) of every two directions: one face's normal, the edge of both.

    Frames that differ by right angles only count once."""
    found: list[FloatArray] = []
    for k, first in enumerate(normals):
        for m, second in enumerate(normals):
            edge = np.cross(first, second)
            sine = float(np.linalg.norm(edge))
            if m == k or sine < LEAST_ANGLE:
                continue
            edge /= sine
            frame = np.column_stack([first, edge, np.cross(first, edge)])
            if len(found) < most and not any(_square_on(frame, other) for other in found):
                found.append(frame)
    return found


def _square_on(frame: FloatArray, other: FloatArray) -> bool:
    return bool(np.abs(frame.T @ other).max(axis=0).min() > SAME)


@dataclass(frozen=True, slots=True, eq=False)
class Widths:
    """Widths of a free space: ``ways`` (k, 3), ``width_mm`` (k,); ``sides`` (k,): 2 where the gap
    counts on both sides, 1 where one is the floor. No ways where there is no free space."""

    ways: FloatArray
    width_mm: FloatArray
    sides: FloatArray

    @classmethod
    def of(cls, obstacles: Sequence[Obstacle]) -> Widths:
        """Across the largest faces of the free space's convex hull, and along its axes."""
        rooms = [one for one in obstacles if one.room]
        if not rooms:
            return cls(np.zeros((0, 3)), np.zeros(0), np.zeros(0))
        points = np.vstack([one.solid.vertices_mm[one.solid.faces].reshape(-1, 3) for one in rooms])
        hull = ConvexHull(np.unique(points, axis=0))
        a, b, c = (hull.points[hull.simplices[:, k]] for k in range(3))
        area = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
        walls = main_normals(hull.equations[:, :3], area, most=WALLS, share=0.0)
        floor = any(one.floor for one in rooms)
        axes = np.eye(3)
        new = [way for way in walls if np.abs(axes @ way).max() < SAME]
        ways = np.vstack([axes, *new])
        sides = np.full(len(ways), 2.0)
        if floor:
            sides[2] = 1.0
        across = hull.points[hull.vertices] @ ways.T
        return cls(ways, across.max(axis=0) - across.min(axis=0), sides)

    def promise_mm(self, corners: FloatArray, turns: FloatArray) -> FloatArray:
        """(n,) a gap that turns (n, 3, 3) of a body cannot exceed; infinite without a free space.

        ``corners`` (m, 3): of the body's hull, some or all."""
        if not len(self.ways):
            return np.full(len(turns), np.inf)
        return np.asarray(((self.width_mm - self.across(corners, turns)) / self.sides).min(axis=1))

    def across(self, corners: FloatArray, turns: FloatArray) -> FloatArray:
        """(n, k) how wide the turned body is in each of the ways."""
        seen = np.einsum("nij,ki->nkj", turns, self.ways).reshape(-1, 3) @ corners.T
        wide = seen.max(axis=1) - seen.min(axis=1)
        across: FloatArray = wide.reshape(len(turns), len(self.ways))
        return across

    def bettered(self, corners: FloatArray, turns: FloatArray, *, keep: int) -> FloatArray:
        """Turns turned on by ever smaller steps until none promises more; the best of them.

        After each step the worse half is left out, down to ``keep``. None without a free space."""
        best = self.promise_mm(corners, turns)
        if not len(self.ways):
            return turns[:0]
        step = FIRST_DEG
        while step > LAST_DEG:
            order = np.argsort(-best, kind="stable")[: max(keep, len(turns) // 2)]
            turns, best = turns[order], best[order]
            small = by_vector(math.radians(step) * _around())
            for _ in range(MOST_A_STEP):
                tried = np.einsum("kij,njl->nkil", small, turns)
                more = self.promise_mm(corners, tried.reshape(-1, 3, 3)).reshape(len(turns), -1)
                pick = more.argmax(axis=1)
                row = np.arange(len(turns))
                better = more[row, pick] > best
                if not better.any():
                    break
                turns = np.where(better[:, None, None], tried[row, pick], turns)
                best = np.maximum(best, more[row, pick])
            step /= 2.0
        return turns


def _around() -> FloatArray:
    """(26, 3) unit directions from a cube's middle to its corners, edges and faces."""
    ways = np.array([way for way in np.ndindex(3, 3, 3) if way != (1, 1, 1)], np.float64) - 1.0
    unit: FloatArray = ways / np.linalg.norm(ways, axis=1, keepdims=True)
    return unit


def outermost(body: PackBody) -> FloatArray:
    """(m, 3) corners that a body's widths are taken at: of its hull, the outermost ones."""
    if len(body.hull) <= CORNERS:
        return body.hull
    ways = all_turns(CORNERS // 4)[:, :, :2].transpose(0, 2, 1).reshape(-1, 3)
    ways = np.vstack([np.eye(3), ways])
    ways = np.vstack([ways, -ways])
    kept: FloatArray = body.hull[np.unique((body.hull @ ways.T).argmax(axis=0))]
    return kept
