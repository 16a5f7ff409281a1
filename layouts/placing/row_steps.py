"""The inner loops of placing by rows: counting one row, and the best pile of rows."""

from __future__ import annotations

import math

import numpy as np

from layouts.placing.compiled import compiled

__all__ = ["pile", "row_counts"]


@compiled
def row_counts(
    edges: np.ndarray, low: float, step: float, levels: int, first: float, q: float, shifts: int
) -> np.ndarray:
    """(levels, shifts) centres of a row at height low + k * step, at first + m * q / shifts.

    ``edges`` (n, 4), the region at their left. A row holds floor(right) - ceil(left) + 1
    centres between two walls, counted in steps of ``q``.
    """
    counts = np.zeros((levels, shifts), dtype=np.int32)
    for e in range(len(edges)):
        x0, y0, x1, y1 = edges[e]
        if y0 == y1:
            continue
        bottom, top = min(y0, y1), max(y0, y1)
        k = max(0, math.ceil((bottom - low) / step))
        while k > 0 and low + (k - 1) * step >= bottom:
            k -= 1
        while k < levels and low + k * step < top:
            y = low + k * step
            if y >= bottom:
                x = (x0 + (x1 - x0) * (y - y0) / (y1 - y0) - first) / q
                for m in range(shifts):
                    beyond = x - m / shifts
                    if y1 > y0:
                        counts[k, m] += math.floor(beyond)
                    else:
                        counts[k, m] += 1 - math.ceil(beyond)
            k += 1
    return counts


@compiled
def pile(counts: np.ndarray, gaps: np.ndarray) -> tuple[np.ndarray, np.ndarray, int]:
    """The rows that hold the most: their levels and shifts, the top one first, and the sum.

    ``gaps`` (shifts,): levels that must lie between two rows whose shifts differ by that much.
    Best over all levels below is kept as the loop climbs, with where it was reached.
    """
    levels, shifts = counts.shape
    best = np.zeros((levels, shifts), dtype=np.int32)
    reached = np.zeros((levels, shifts), dtype=np.int32)
    before = np.full((levels, shifts), -1, dtype=np.int32)
    for k in range(levels):
        for m in range(shifts):
            most, under = 0, -1
            if counts[k, m] > 0:
                for other in range(shifts):
                    at = k - gaps[(m - other) % shifts]
                    if at >= 0 and best[at, other] > most:
                        most, under = best[at, other], other
            total = most + max(counts[k, m], 0)
            if k > 0 and best[k - 1, m] >= total:
                best[k, m] = best[k - 1, m]
                reached[k, m] = reached[k - 1, m]
            else:
                best[k, m] = total
                reached[k, m] = k
            before[k, m] = under
    m = int(np.argmax(best[levels - 1]))
    sum_held = int(best[levels - 1, m])
    found_k = np.zeros(levels, dtype=np.int64)
    found_m = np.zeros(levels, dtype=np.int64)
    rows = 0
    k = levels - 1
    while sum_held > 0 and m >= 0 and k >= 0:
        k = reached[k, m]
        if counts[k, m] <= 0:
            break
        found_k[rows], found_m[rows] = k, m
        rows += 1
        under = before[k, m]
        if under < 0:
            break
        k, m = k - gaps[(m - under) % shifts], under
    return found_k[:rows], found_m[:rows], sum_held
