"""A way for each main lead in the free plan between walls, cells, board and fuse.

No step of the plan decides these ways; they are drawn as a wire would lie that takes the shortest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import dijkstra
from shapely.geometry.base import BaseGeometry

__all__ = ["FreePlan", "free_plan"]

GRID_MM = 2.0
NEIGHBOURS = ((1, 0), (0, 1), (1, 1), (1, -1))
REACH_MM = 20.0  # from an end to the nearest free place: the lead's own bend
BEND_EVERY = 3  # grid steps between the points that a wire is led through
LEVEL_SHARE = 0.3  # of a way at both ends, on which it stays at its height


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FreePlan:
    """Places of a grid where a wire has room: ``at_mm`` (n, 2), and which are neighbours.
    ``over_mm``: height at which it runs between its ends, None: from one's to the other's."""

    at_mm: NDArray[np.float64]
    steps: coo_matrix
    over_mm: float | None = None

    def way(self, start_mm: Sequence[float], end_mm: Sequence[float]) -> NDArray[np.float64] | None:
        """(k, 3) points from one (x, y, z) to another, both of them in it; None where the places
        nearest to them are not joined, or are far."""
        ends = np.array([start_mm, end_mm], dtype=np.float64)
        if not len(self.at_mm):
            return None
        first, last = (int(np.argmin(((self.at_mm - at) ** 2).sum(axis=1))) for at in ends[:, :2])
        away, before = dijkstra(self.steps, directed=False, indices=first, return_predecessors=True)
        off = np.hypot(*(self.at_mm[[first, last]] - ends[:, :2]).T).max()
        if not np.isfinite(away[last]) or off > REACH_MM:
            return None
        nodes = [last]
        while nodes[-1] != first:
            nodes.append(int(before[nodes[-1]]))
        through = self.at_mm[nodes[::-1][BEND_EVERY:-BEND_EVERY:BEND_EVERY]]
        plan = np.vstack([ends[0, :2], through, ends[1, :2]])
        gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(plan, axis=0).T))])
        share = gone / max(gone[-1], 1e-9)
        if self.over_mm is None:
            rise = _smooth((share - LEVEL_SHARE) / (1 - 2 * LEVEL_SHARE))
            return np.column_stack([plan, ends[0, 2] + rise * (ends[1, 2] - ends[0, 2])])
        up, down = _smooth(share / LEVEL_SHARE), _smooth((1 - share) / LEVEL_SHARE)
        z = self.over_mm + (1 - up) * (ends[0, 2] - self.over_mm)
        return np.column_stack([plan, z + (1 - down) * (ends[1, 2] - self.over_mm)])


def _smooth(share: NDArray[np.float64]) -> NDArray[np.float64]:
    """From 0 to 1 with level ends."""
    share = np.clip(share, 0.0, 1.0)
    rise: NDArray[np.float64] = share**2 * (3 - 2 * share)
    return rise


def free_plan(
    cavity: shapely.Polygon, taken: BaseGeometry, radius_mm: float, over_mm: float | None = None
) -> FreePlan:
    """The places in a cavity where a wire of that radius goes clear of what is taken."""
    free = cavity.buffer(-radius_mm).difference(taken.buffer(radius_mm))
    if free.is_empty:
        return FreePlan(at_mm=np.zeros((0, 2)), steps=coo_matrix((0, 0)))
    x0, y0, x1, y1 = free.bounds
    xs, ys = np.arange(x0, x1, GRID_MM), np.arange(y0, y1, GRID_MM)
    x, y = np.meshgrid(xs, ys, indexing="ij")
    shapely.prepare(free)
    inside = shapely.contains_xy(free, x, y)
    number = np.where(inside, np.cumsum(inside).reshape(inside.shape) - 1, -1)
    rows, columns, long = [], [], []
    for dx, dy in NEIGHBOURS:
        a = number[: len(xs) - dx, max(0, -dy) : len(ys) - max(0, dy)]
        b = number[dx:, max(0, dy) : len(ys) + min(0, dy)]
        both = (a >= 0) & (b >= 0)
        rows.append(a[both])
        columns.append(b[both])
        long.append(np.full(int(both.sum()), GRID_MM * np.hypot(dx, dy)))
    count = int(inside.sum())
    steps = coo_matrix(
        (np.concatenate(long), (np.concatenate(rows), np.concatenate(columns))), (count, count)
    )
    return FreePlan(at_mm=np.column_stack([x[inside], y[inside]]), steps=steps, over_mm=over_mm)
