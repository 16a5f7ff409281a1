"""Stepping from place to place with no step longer than a limit: screws and posts along a side."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["longest_step_mm", "stepping_stones"]

WIDEN = 1.1  # factor by which the limit grows where no way keeps it


def longest_step_mm(points_mm: NDArray[np.float64]) -> float:
    """Longest distance between consecutive points (n, 2); 0 for fewer than two."""
    if len(points_mm) < 2:
        return 0.0
    return float(np.hypot(*np.diff(points_mm, axis=0).T).max())


def stepping_stones(
    start_mm: NDArray[np.float64],
    end_mm: NDArray[np.float64],
    places_mm: NDArray[np.float64],
    costs: Sequence[float],
    *,
    limit_mm: float,
    apart_mm: float,
) -> tuple[int, ...]:
    """The places to step on from start to end, fewest and evenest first; indices in order.

    ``places_mm`` (n, 2) sorted along the way. Each place costs 1 + its own cost, each step the
    square of its share of ``limit_mm``. Steps are at least ``apart_mm`` and at most the limit;
    where no way keeps the limit, it is widened by tenths until one does.
    """
    points = np.vstack([start_mm, places_mm.reshape(-1, 2), end_mm])
    apart = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    price = [0.0, *(1.0 + cost for cost in costs), 0.0]
    last = len(points) - 1
    limit = limit_mm
    while True:
        best = np.full(len(points), np.inf)
        best[0] = 0.0
        before = np.zeros(len(points), dtype=np.int64)
        for k in range(1, last + 1):
            way = best[:k] + (apart[:k, k] / limit_mm) ** 2 + price[k]
            way[(apart[:k, k] > limit) | (apart[:k, k] < apart_mm)] = np.inf
            if k == last and apart[0, last] <= limit:
                way[0] = (apart[0, last] / limit_mm) ** 2
            before[k] = int(np.argmin(way))
            best[k] = way[before[k]]
        if np.isfinite(best[last]):
            break
        limit *= WIDEN
    stones = []
    k = int(before[last])
    while k > 0:
        stones.append(k - 1)
        k = int(before[k])
    return tuple(reversed(stones))
