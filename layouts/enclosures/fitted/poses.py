"""How the held cells may stand in a space: the shifts with which plans lie in its free area.

All shifts at once, on a raster: the free area's raster convolved with a plan of any shape, or for a
rectangle summed over it. What is exact is decided afterwards, by ``slid``.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import fft
from scipy.ndimage import distance_transform_edt
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from layouts.parts.shell import Rect

__all__ = ["ShiftRaster", "shift_raster", "slid", "slid_several"]

Mask = NDArray[np.bool_]

RASTER_MM = 1.0
MOST_SHIFTS = 4000  # with more than these the raster is coarser: there is room to spare
# blocked points that a plan may cover: those of its border, settled exactly later
BORDER_POINTS = 2.5
TRIED = 12  # of the shifts with most room: that of the raster may be off at the border
BETWEEN_RATIO = 0.4  # of a step that a rectangle may reach past the raster's points unseen
FINE_MM = 1e-6  # points on a rectangle's edge do not count


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ShiftRaster:
    """Shifts of a plan in a free area.

    ``whole``: (m, n), whether the plan lies in the free area with the shift of that row along y and
    column along x, within a raster's step. ``sums``: free points below and left of each.
    """

    whole: Mask
    sums: NDArray[np.int64]
    x_mm: NDArray[np.float64]
    y_mm: NDArray[np.float64]
    origin_mm: tuple[float, float]
    step_mm: float

    def keeps(self, rect: Rect, by_mm: float = 0.0) -> Mask:
        """(m, n) the shifts with which a rectangle of the plan, grown, lies in the free area."""
        by_mm += BETWEEN_RATIO * self.step_mm
        columns = self._spans(rect.x0 - by_mm, rect.x1 + by_mm, 0)
        rows = self._spans(rect.y0 - by_mm, rect.y1 + by_mm, 1)
        (i0, i1, across), (j0, j1, up) = columns, rows
        low, high = self.sums[j0], self.sums[j1]
        free = high[:, i1] - high[:, i0] - low[:, i1] + low[:, i0]
        return np.asarray(free == across * up)

    def _spans(
        self, low: float, high: float, axis: int
    ) -> tuple[NDArray[np.int64], NDArray[np.int64], int]:
        """First and last raster points of a stretch of the plan for each shift, and how many."""
        start, count = self.origin_mm[axis], len(self.x_mm if axis == 0 else self.y_mm)
        first = math.ceil((low - start) / self.step_mm + FINE_MM)
        last = math.floor((high - start) / self.step_mm - FINE_MM)
        many = max(0, last - first + 1)
        at = first + np.arange(count)
        most = self.sums.shape[1 - axis] - 1
        held = np.minimum(np.maximum(at, 0), most)
        return held, np.minimum(np.maximum(at + many, 0), most), many

    def roomiest_mm(self, mask: Mask) -> tuple[float, float]:
        """The shift of a mask that lies farthest from those not in it. It has one at least."""
        room = distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1]
        j, i = np.unravel_index(int(np.argmax(room)), room.shape)
        return float(self.x_mm[i]), float(self.y_mm[j])


def shift_raster(free: BaseGeometry, plan: BaseGeometry) -> ShiftRaster | None:
    """All shifts of a plan in a free area; None where it lies in it with none."""
    if free.is_empty:
        return None
    fx0, fy0, fx1, fy1 = free.bounds
    x0, y0, x1, y1 = plan.bounds
    spare = max(0.0, fx1 - fx0 - x1 + x0) * max(0.0, fy1 - fy0 - y1 + y0)
    step = RASTER_MM * max(1, math.ceil(math.sqrt(spare / RASTER_MM**2 / MOST_SHIFTS)))
    found = _feasible(free, plan, step)
    if found is None or not found[0].any():
        return None
    mask, blocked, x, y = found
    sums = np.zeros((blocked.shape[0] + 1, blocked.shape[1] + 1), dtype=np.int64)
    sums[1:, 1:] = np.cumsum(np.cumsum(blocked < 0.5, axis=0), axis=1)
    return ShiftRaster(whole=mask, sums=sums, x_mm=x, y_mm=y, origin_mm=(x0, y0), step_mm=step)


def slid(
    free: BaseGeometry, plan: BaseGeometry, span_mm: tuple[float, float, float, float] | None = None
) -> tuple[float, float] | None:
    """The shift with which a plan stands farthest from where it no longer lies in the free area;
    None where there is none. Exact: the plan lies within ``free`` after it. ``span_mm``: along x
    and y, from and to, it may only be one of these."""
    if free.is_empty:
        return None
    found = _feasible(free, plan, RASTER_MM)
    if found is None:
        return None
    mask, _, x, y = found
    if span_mm is not None:
        x0, x1, y0, y1 = span_mm
        mask = mask & ((y >= y0) & (y <= y1))[:, None] & ((x >= x0) & (x <= x1))
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


def slid_several(
    free: BaseGeometry,
    plan: BaseGeometry,
    *,
    count: int,
    apart_mm: float,
    score: Callable[[NDArray[np.float64]], NDArray[np.float64]],
) -> list[tuple[float, float]]:
    """Some shifts with which a plan lies in the free area, ``apart_mm`` at least from each other:
    those of the highest score, of equal ones that with most room first. Exact, as ``slid``.

    ``score``: (n, 2) shifts -> (n,)."""
    found = None if free.is_empty else _feasible(free, plan, RASTER_MM)
    if found is None or not found[0].any():
        return []
    mask, _, x, y = found
    room = distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1]
    rows, columns = np.nonzero(mask)
    points = np.column_stack([x[columns], y[rows]])
    taken: list[tuple[float, float]] = []
    open_still = np.ones(len(points), dtype=np.bool_)
    for k in np.lexsort((-room[rows, columns], -score(points))).tolist():
        if not open_still[k]:
            continue
        shift = float(points[k, 0]), float(points[k, 1])
        if free.contains(translate(plan, *shift)):
            taken.append(shift)
            open_still &= np.hypot(*(points - shift).T) >= apart_mm
        if len(taken) == count:
            break
    return taken


def _feasible(
    free: BaseGeometry, plan: BaseGeometry, step_mm: float
) -> tuple[Mask, NDArray[np.float32], NDArray[np.float64], NDArray[np.float64]] | None:
    """Whether each shift keeps the plan in the free area, (m, n), the raster of what is not free,
    and the shifts along x and y; None where the plan is larger than the area."""
    fx0, fy0, fx1, fy1 = free.bounds
    x = np.arange(fx0 - 2 * step_mm, fx1 + 3 * step_mm, step_mm)
    y = np.arange(fy0 - 2 * step_mm, fy1 + 3 * step_mm, step_mm)
    blocked = (~shapely.contains_xy(free, *np.meshgrid(x, y))).astype(np.float32)
    x0, y0, x1, y1 = plan.bounds
    px, py = np.arange(x0, x1 + 1e-9, step_mm), np.arange(y0, y1 + 1e-9, step_mm)
    kernel = shapely.contains_xy(plan, *np.meshgrid(px, py)).astype(np.float32)
    if kernel.shape[0] > blocked.shape[0] or kernel.shape[1] > blocked.shape[1]:
        return None
    hits = _covered(blocked, kernel)
    rows, columns = hits.shape
    return hits < BORDER_POINTS, blocked, x[:columns] - x0, y[:rows] - y0


def _covered(blocked: NDArray[np.float32], plan: NDArray[np.float32]) -> NDArray[np.float32]:
    """The blocked points under a plan's raster at each place where it lies within the other one:
    their convolution by Fourier transforms. scipy.signal has it too, and takes as long to load as
    all else of a plan."""
    shape = [a + b - 1 for a, b in zip(blocked.shape, plan.shape, strict=True)]
    fast = [fft.next_fast_len(n, True) for n in shape]
    turned = plan[::-1, ::-1]
    both = fft.irfft2(fft.rfft2(blocked, fast) * fft.rfft2(turned, fast), fast)
    whole = both[plan.shape[0] - 1 : blocked.shape[0], plan.shape[1] - 1 : blocked.shape[1]]
    return np.asarray(whole)
