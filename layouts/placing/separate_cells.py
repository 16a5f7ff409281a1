"""Making a nearly free placement free of every overlap, to the last digit.

Distances are replaced by their projections on the present directions. That only ever
understates them: |a - b| >= n (a - b) for any unit vector n, and a half plane that keeps its
distance from a wall's nearest point keeps it from the whole wall. So each step is a linear
programme whose answer is at least as good in truth: the least slack never falls.
"""

from __future__ import annotations

import numpy as np
import scipy.sparse as sp
import shapely
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.spatial import cKDTree

from layouts.placing.region import Region, confirmed

__all__ = ["CLEAR_RATIO", "pushed_apart", "walls_of"]

Array = NDArray[np.float64]

CLEAR_RATIO = 2e-10  # of the pitch, that two centres may lie too close: float noise
STEP_RATIO = 0.1  # of the pitch, that a centre may move in one step
MOST_STEPS = 40
PATIENCE = 10  # steps as good as the last within which the goal must come in sight
STALLED = 1e-9  # of the pitch: a step that gains no more has reached the best nearby


def walls_of(region: Region) -> Array:
    """(m, 4) the cavity's walls, the cavity at their left."""
    found = []
    for polygon in getattr(region.cavity, "geoms", [region.cavity]):
        for ring in (polygon.exterior, *polygon.interiors):
            points = np.asarray(ring.coords)[:, :2]
            if (ring is polygon.exterior) != ring.is_ccw:
                points = points[::-1]
            found.append(np.hstack([points[:-1], points[1:]]))
    return np.vstack(found)


def pushed_apart(region: Region, xy_mm: Array, *, pitch_mm: float) -> Array | None:
    """Centres near the given ones, all a pitch apart and clear of the walls; None if not."""
    walls = walls_of(region)
    xy, before = xy_mm, -np.inf
    for _ in range(MOST_STEPS):
        if _is_clear(region, xy, pitch_mm):
            return xy
        step = _step(xy, walls, pitch_mm=pitch_mm, reach_mm=region.reach_mm)
        if step is None:
            return None
        moved, slack = step
        gain = slack - before
        if gain < STALLED * pitch_mm or slack + PATIENCE * gain < 0:
            return moved if _is_clear(region, moved, pitch_mm) else None
        xy, before = moved, slack
    return xy if _is_clear(region, xy, pitch_mm) else None


def _is_clear(region: Region, xy_mm: Array, pitch_mm: float) -> bool:
    """Whether a placement keeps pitch and reach."""
    within = pitch_mm * (1 - CLEAR_RATIO)
    return bool(confirmed(region, xy_mm).all() and not len(cKDTree(xy_mm).query_pairs(within, p=2)))


def _step(
    xy: Array, walls: Array, *, pitch_mm: float, reach_mm: float
) -> tuple[Array, float] | None:
    """The move within the step's box after which the least slack is largest, and that slack."""
    count, most = len(xy), STEP_RATIO * pitch_mm
    pairs = cKDTree(xy).query_pairs(pitch_mm + 3 * most, output_type="ndarray")
    between = xy[pairs[:, 0]] - xy[pairs[:, 1]]
    apart = np.hypot(between[:, 0], between[:, 1])
    if len(pairs) and apart.min() < 1e-6 * pitch_mm:
        return None
    normal = between / apart[:, None]
    whose, inward, room = _near_walls(xy, walls, reach_mm + 1.5 * most, reach_mm)
    m, w = len(pairs), len(whose)
    rows = np.arange(m)
    wall_rows = m + np.arange(w)
    at_rows = np.concatenate([np.repeat(rows, 4), np.repeat(wall_rows, 2), np.arange(m + w)])
    at_columns = np.concatenate(
        [
            np.column_stack(
                [2 * pairs[:, 0], 2 * pairs[:, 0] + 1, 2 * pairs[:, 1], 2 * pairs[:, 1] + 1]
            ).ravel(),
            np.column_stack([2 * whose, 2 * whose + 1]).ravel(),
            np.full(m + w, 2 * count),
        ]
    )
    values = np.concatenate([np.hstack([-normal, normal]).ravel(), -inward.ravel(), np.ones(m + w)])
    limits = np.concatenate([apart - pitch_mm, room - reach_mm])
    solved = linprog(
        np.append(np.zeros(2 * count), -1.0),
        A_ub=sp.csr_matrix((values, (at_rows, at_columns)), shape=(m + w, 2 * count + 1)),
        b_ub=limits,
        bounds=[(-most, most)] * (2 * count) + [(None, most)],
        method="highs",
    )
    if solved.status != 0:
        return None
    return xy + solved.x[:-1].reshape(-1, 2), float(solved.x[-1])


def _near_walls(
    xy: Array, walls: Array, within_mm: float, reach_mm: float
) -> tuple[NDArray[np.int64], Array, Array]:
    """For each centre and wall that near: the centre, the unit vector away, the distance."""
    ahead = walls[:, 2:] - walls[:, :2]
    length = np.hypot(ahead[:, 0], ahead[:, 1])
    tree = shapely.STRtree(shapely.linestrings(walls.reshape(-1, 2, 2)))
    whose, which = tree.query(shapely.points(xy), predicate="dwithin", distance=within_mm)
    unit = ahead[which] / np.maximum(length[which], 1e-12)[:, None]
    from_start = xy[whose] - walls[which, :2]
    along = np.clip((from_start * unit).sum(axis=1), 0.0, length[which])
    away = from_start - along[:, None] * unit
    apart = np.hypot(away[:, 0], away[:, 1])
    left = np.column_stack([-unit[:, 1], unit[:, 0]])
    side = (from_start * left).sum(axis=1)
    # on or just through a wall the way back is the wall's own normal
    through = (side <= 0) & (apart <= reach_mm / 2) | (apart < 1e-9)
    inward = np.where(through[:, None], left, away / np.maximum(apart, 1e-12)[:, None])
    return whose, inward, np.where(through, side, apart)
