"""Free spacing: one more cell squeezed into a hole, and another, while that goes.

A cell is put into the widest hole; squared overlaps and distances outside the region are
brought down (L-BFGS); where some remain, the most squeezed cell moves to another hole, and so
on. What comes near enough is then made exact (``apart``); only then does it count. On small
fields fresh starts at random are tried as well. Seeds and budgets are fixed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.placing.branch import depth_net
from layouts.placing.compiled import COMPILED
from layouts.placing.region import Region
from layouts.placing.relax_steps import relaxed
from layouts.placing.separate_cells import pushed_apart
from layouts.placing.squeeze_steps import overlap_and_slope, squeezed

__all__ = ["freed"]

Array = NDArray[np.float64]

NEAR_RATIO = 1e-3  # of the pitch, overlap left at which the exact step is worth trying
LBFGS_STEPS = 400
DEPTH_NET = 8  # depths known in advance a pitch
HOLE_NET = 6  # net points a pitch when holes are looked for
MOVES = 12  # cells moved to other holes before a start is given up
HOLES = 4  # holes from which the search for one more begins
FRESH_BELOW = 45  # cells below which random starts are tried
FRESH, FRESH_CELLS, FRESH_EACH = 120, 3000, 8  # starts; cells in all; starts for each cell
MOST_CELLS = 400  # above, one more cell is not worth the search
SEED = 20


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Room:
    """The region for the compiled loops: relative to its middle, with a net of depths."""

    region: Region
    edges: Array
    depths: Array
    frame: Array
    points: Array
    pitch_mm: float

    def overlap(self, xy: Array) -> float:
        """Sum of squared overlaps and distances outside."""
        flat = np.ascontiguousarray(xy).ravel()
        return float(overlap_and_slope(flat, self.edges, self.depths, self.frame, self.pitch_mm)[0])

    def shares(self, xy: Array) -> Array:
        """(n,) each centre's own part in it."""
        flat = np.ascontiguousarray(xy).ravel()
        found: Array = squeezed(flat, self.edges, self.depths, self.frame, self.pitch_mm)
        return found

    def relaxed(self, xy: Array) -> Array:
        """Overlaps brought down from here."""
        flat = np.ascontiguousarray(xy).ravel()
        found: Array = relaxed(
            flat, self.edges, self.depths, self.frame, self.pitch_mm, LBFGS_STEPS
        )
        return found.reshape(-1, 2)


def freed(region: Region, xy_mm: Array, *, pitch_mm: float, bound: int) -> Array:
    """The given placement with as many cells added as the search finds space for."""
    if region.is_empty or len(xy_mm) > MOST_CELLS or not COMPILED:
        return xy_mm
    room = _room(region, pitch_mm)
    best = xy_mm
    while len(best) < bound:
        for start in _starts(best, room):
            found = _settled(room, start)
            if found is not None:
                best = found
                break
        else:
            return best
    return best


def _room(region: Region, pitch_mm: float) -> _Room:
    edges = region.inner_edges if len(region.inner_edges) else region.outer_edges
    depths, frame = depth_net(edges, step_mm=pitch_mm / DEPTH_NET)
    return _Room(
        region=region,
        edges=edges,
        depths=depths,
        frame=frame,
        points=_net(region, pitch_mm),
        pitch_mm=pitch_mm,
    )


def _starts(best: Array, room: _Room) -> Iterator[Array]:
    """Placements of one more cell to begin from."""
    for hole in _holes(best, room)[:HOLES]:
        yield np.vstack([best, hole])
    if len(best) < FRESH_BELOW:
        draw = np.random.default_rng(SEED + len(best))
        points = room.points
        count = len(best) + 1
        for _ in range(min(FRESH, FRESH_CELLS // count, FRESH_EACH * count)):
            yield points[draw.choice(len(points), len(best) + 1, replace=len(points) <= len(best))]


def _settled(room: _Room, start: Array) -> Array | None:
    """The start relaxed, squeezed cells moved to holes; None where overlaps remain."""
    middle, pitch_mm = room.region.middle_mm, room.pitch_mm
    xy = room.relaxed(start - middle)
    least = np.inf
    visited = -1
    for move in range(MOVES + 1):
        left = room.overlap(xy)
        if left < (NEAR_RATIO * pitch_mm) ** 2:
            exact = pushed_apart(room.region, xy + middle, pitch_mm=pitch_mm)
            if exact is not None:
                return exact
        if move == MOVES or (left >= least and move > MOVES // 2):
            break
        least = min(least, left)
        order = np.argsort(-room.shares(xy), kind="stable")
        worst = int(order[0]) if int(order[0]) != visited else int(order[1 % len(order)])
        others = np.delete(xy, worst, axis=0)
        holes = _holes(others + middle, room) - middle
        away = np.hypot(*(holes - xy[worst]).T) > pitch_mm / 2
        if not away.any():
            break
        xy = np.vstack([others, holes[away][0]])
        visited = len(xy) - 1
        xy = room.relaxed(xy)
    return None


def _net(region: Region, pitch_mm: float) -> Array:
    """(k, 2) points of a square net in the region, its corners among them."""
    low_x, low_y, high_x, high_y = region.outer.bounds
    step = pitch_mm / HOLE_NET
    x, y = np.meshgrid(np.arange(low_x, high_x, step), np.arange(low_y, high_y, step))
    points = np.column_stack([x.ravel(), y.ravel()])
    inside = points[shapely.contains_xy(region.outer, points[:, 0], points[:, 1])]
    return np.vstack([inside, region.outer_edges[:, :2] + region.middle_mm])


def _holes(xy_mm: Array, room: _Room) -> Array:
    """(k, 2) net points furthest from every centre, the widest hole first, half a pitch apart."""
    points, pitch_mm = room.points, room.pitch_mm
    if not len(xy_mm):
        return points[:1]
    away = cKDTree(xy_mm).query(points)[0].round(9)
    found: list[Array] = []
    for at in np.argsort(-away, kind="stable"):
        if all(np.hypot(*(points[at] - one)) > pitch_mm / 2 for one in found):
            found.append(points[at])
        if len(found) == 2 * HOLES:
            break
    return np.array(found)
