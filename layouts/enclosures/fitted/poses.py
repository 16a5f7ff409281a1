"""How the held cells may stand in a space: quarter turns and shifts with which a plan is free.

All shifts at once: the raster of what is not free, convolved with the plan. Few of many are taken:
the extremes in eight directions and the middle. What is exact is decided afterwards.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt
from scipy.signal import fftconvolve
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

__all__ = ["PlanPose", "plan_poses", "slid"]

RASTER_MM = 1.0
BORDER_CELLS = (
    2.5  # blocked cells that a plan may cover: those of its border, settled exactly later
)
DIRECTIONS = 8
TRIED = 12  # of the shifts with most room: that of the raster may be off at the border


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlanPose:
    """The pack turned by ``turn_deg`` about its origin, then moved by ``shift_mm``, stands in the
    space; ``free``: the space's free plan seen from the pack."""

    turn_deg: int
    shift_mm: tuple[float, float]
    free: BaseGeometry


def plan_poses(
    free: BaseGeometry, plan: BaseGeometry, turns_deg: tuple[int, ...], most: int
) -> Iterator[PlanPose]:
    """Up to ``most`` poses for each turn with which the plan lies in the free space, within a
    raster's step."""
    for turn in turns_deg:
        turned = rotate(free, -turn, origin=(0.0, 0.0))
        for dx, dy in _far_apart(_shifts(turned, plan), most).tolist():
            cos, sin = round(np.cos(np.radians(turn))), round(np.sin(np.radians(turn)))
            yield PlanPose(
                turn_deg=turn,
                shift_mm=(cos * dx - sin * dy, sin * dx + cos * dy),
                free=translate(turned, -dx, -dy),
            )


def slid(free: BaseGeometry, plan: BaseGeometry) -> tuple[float, float] | None:
    """The shift with which a plan stands farthest from where it no longer lies in the free area;
    None where there is none. Exact: the plan lies within ``free`` after it."""
    found = _feasible(free, plan)
    if found is None:
        return None
    mask, x, y = found
    # the border of the raster is no free way: padded, it counts as blocked
    room = distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1]
    for k in np.argsort(-room, axis=None, kind="stable")[:TRIED].tolist():
        j, i = np.unravel_index(k, room.shape)
        if not mask[j, i]:
            return None
        shift = float(x[i]), float(y[j])
        if free.contains(translate(plan, *shift)):
            return shift
    return None


def _shifts(free: BaseGeometry, plan: BaseGeometry) -> NDArray[np.float64]:
    """(n, 2) shifts with which the plan lies in the free area, to a raster's step."""
    found = _feasible(free, plan)
    if found is None:
        return np.empty((0, 2))
    mask, x, y = found
    j, i = np.nonzero(mask)
    return np.column_stack([x[i], y[j]])


def _feasible(
    free: BaseGeometry, plan: BaseGeometry
) -> tuple[NDArray[np.bool_], NDArray[np.float64], NDArray[np.float64]] | None:
    """Whether each shift keeps the plan in the free area, (m, n), with the shifts along x and y;
    None where nothing is free or the plan is larger."""
    if free.is_empty:
        return None
    fx0, fy0, fx1, fy1 = free.bounds
    x = np.arange(fx0 - 2 * RASTER_MM, fx1 + 3 * RASTER_MM, RASTER_MM)
    y = np.arange(fy0 - 2 * RASTER_MM, fy1 + 3 * RASTER_MM, RASTER_MM)
    blocked = (~shapely.contains_xy(free, *np.meshgrid(x, y))).astype(np.float32)
    x0, y0, x1, y1 = plan.bounds
    px, py = np.arange(x0, x1 + 1e-9, RASTER_MM), np.arange(y0, y1 + 1e-9, RASTER_MM)
    kernel = shapely.contains_xy(plan, *np.meshgrid(px, py)).astype(np.float32)
    if kernel.shape[0] > blocked.shape[0] or kernel.shape[1] > blocked.shape[1]:
        return None
    hits = fftconvolve(blocked, kernel[::-1, ::-1], mode="valid")
    rows, columns = hits.shape
    return hits < BORDER_CELLS, x[:columns] - x0, y[:rows] - y0


def _far_apart(points: NDArray[np.float64], most: int) -> NDArray[np.float64]:
    """A few of many: the one nearest to their middle, and the extremes in eight directions."""
    if len(points) <= most:
        return points
    middle = points - points.mean(axis=0)
    found = [int(np.argmin(np.hypot(*middle.T)))]
    for k in range(DIRECTIONS):
        angle = 2 * np.pi * k / DIRECTIONS
        k_far = int(np.argmax(points @ (np.cos(angle), np.sin(angle))))
        if k_far not in found:
            found.append(k_far)
    return points[found[:most]]
