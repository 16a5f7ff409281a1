"""Small packs: every way to divide the cells into groups is looked at, so the answer is exact."""

from __future__ import annotations

from math import factorial

import numpy as np

from layouts.placing.compiled import compiled

__all__ = ["best_of_all_ways", "ways_to_group"]

_NOISE = 1e-9  # relative: sums of the same capacities in another order


def ways_to_group(series: int, parallel: int) -> int:
    """How many ways there are to divide S x P cells into S groups of P, their order not counted."""
    within: int = factorial(parallel) ** series
    return factorial(series * parallel) // (within * factorial(series))


def best_of_all_ways(
    capacity: np.ndarray, resistance: np.ndarray, series: int, parallel: int, enough: float
) -> np.ndarray:
    """Groups (S, P) with the least scatter of resistance among those even enough in capacity.

    ``capacity``, ``resistance`` (S x P,). Even enough: largest less smallest group's capacity is
    at most ``enough``, or the least that any way reaches where that is more."""
    least, _ = _searched(capacity, resistance, series, parallel, -1.0)
    limit = max(enough, least) * (1.0 + _NOISE) + _NOISE * float(capacity.mean())
    _, group = _searched(capacity, resistance, series, parallel, limit)
    return np.argsort(group, kind="stable").reshape(series, parallel)


@compiled
def _searched(
    capacity: np.ndarray, resistance: np.ndarray, series: int, parallel: int, limit: float
) -> tuple[float, np.ndarray]:
    """The best value and each cell's group (n,), from 0, over all ways to group the cells.

    ``limit`` below 0: least range of the groups' capacities; else least negative sum of the
    groups' squared resistances among ways whose range is at most ``limit``. Cell 0 is in group 0,
    and each further group begins with the first cell that no earlier one has: so each way is
    looked at once. A branch ends where its full groups already differ by too much.
    """
    count = series * parallel
    group = np.full(count, -1, dtype=np.int64)
    best_group = np.zeros(count, dtype=np.int64)
    size = np.zeros(series, dtype=np.int64)
    total = np.zeros(series)
    ohms = np.zeros(series)
    best = np.inf
    cell = 0
    while cell >= 0:
        g = group[cell]
        if g >= 0:  # take the cell out again, and try it in the next group
            size[g] -= 1
            total[g] -= capacity[cell]
            ohms[g] -= resistance[cell]
        g += 1
        while g < series and (size[g] == parallel or (g > 0 and size[g - 1] == 0)):
            g += 1
        if g == series:
            group[cell] = -1
            cell -= 1
            continue
        group[cell] = g
        size[g] += 1
        total[g] += capacity[cell]
        ohms[g] += resistance[cell]
        if size[g] == parallel:
            low, high = np.inf, -np.inf
            for k in range(series):
                if size[k] == parallel:
                    low = min(low, total[k])
                    high = max(high, total[k])
            most = best if limit < 0.0 else limit
            if high - low > most:
                continue
        if cell < count - 1:
            cell += 1
            continue
        value = high - low if limit < 0.0 else -np.sum(ohms * ohms)
        if value < best:
            best = value
            best_group[:] = group
    return best, best_group
