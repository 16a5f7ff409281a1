"""Is a point inside a closed loop of lines and true arcs: the crossing number, for many at once."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

__all__ = ["LoopSet", "ranges"]

# A loop of more rows than this is looked up by height instead of row by row.
BANDED_FROM_ROWS = 24


def ranges(starts: NDArray[np.int64], counts: NDArray[np.int64]) -> NDArray[np.int64]:
    """All indices start .. start + count - 1 of every run, joined."""
    total = int(counts.sum())
    if not total:
        return np.empty(0, np.int64)
    ahead = np.cumsum(counts) - counts
    joined: NDArray[np.int64] = np.arange(total) + np.repeat(starts - ahead, counts)
    return joined


class LoopSet:
    """Loops cut into rows that only rise or only fall, ready for crossing numbers.

    Parameters
    ----------
    first, last : (n, 2) float [mm], ends of the segments as run; each end must be the very same
        number as the next segment's start, so that no height is missed or counted twice.
    circles : (n, 3) float [mm], centre and radius; radius 0 is a line.
    turns : (n, 2) float [rad], first angle and signed sweep as run.
    loop : (n,) int, loop number of each segment, 0 ... count - 1.
    """

    def __init__(
        self,
        first: NDArray[np.float64],
        last: NDArray[np.float64],
        circles: NDArray[np.float64],
        turns: NDArray[np.float64],
        loop: NDArray[np.int64],
        count: int,
    ) -> None:
        """Cut the segments into rows: see the class."""
        line = np.flatnonzero(circles[:, 2] == 0)
        arc = np.flatnonzero(circles[:, 2] > 0)
        rise = last[line, 1] - first[line, 1]
        slope = np.divide(
            last[line, 0] - first[line, 0], rise, out=np.zeros_like(rise), where=rise != 0
        )
        rows = [
            np.column_stack(
                [first[line, 1], last[line, 1], first[line, 0], first[line, 1], slope, 0 * slope]
            )
        ]
        owner = [loop[line]]
        # An arc turns from rising to falling where its angle passes pi/2 + k pi: twice at most.
        a0, sweep, way = turns[arc, 0], np.abs(turns[arc, 1]), np.sign(turns[arc, 1])
        to_first = (way * (math.pi / 2 - a0)) % math.pi
        stops = np.minimum(np.column_stack([to_first, to_first + math.pi]), sweep[:, None])
        stops = np.column_stack([np.zeros_like(sweep), stops, sweep])
        angles = a0[:, None] + way[:, None] * stops
        heights = circles[arc, 1, None] + circles[arc, 2, None] * np.round(np.sin(angles))
        heights[:, 0], heights[:, 3] = first[arc, 1], last[arc, 1]
        ended = stops >= sweep[:, None]  # a stop cut off at the end has the end's height
        heights = np.where(ended, last[arc, 1, None], heights)
        heights[:, 0] = first[arc, 1]
        for k in range(3):
            middle = np.cos(a0 + way * (stops[:, k] + stops[:, k + 1]) / 2)
            rows.append(
                np.column_stack(
                    [
                        heights[:, k],
                        heights[:, k + 1],
                        circles[arc, 0],
                        circles[arc, 1],
                        circles[arc, 2],
                        np.where(middle >= 0, 1.0, -1.0),
                    ]
                )
            )
            owner.append(loop[arc])
        table, owners = np.vstack(rows), np.concatenate(owner)
        kept = np.flatnonzero(table[:, 0] != table[:, 1])
        kept = kept[np.argsort(owners[kept], kind="stable")]
        self._rows = table[kept]
        self._low = self._rows[:, :2].min(axis=1)
        self._high = self._rows[:, :2].max(axis=1)
        self._count = np.bincount(owners[kept], minlength=count)
        self._start = np.cumsum(self._count) - self._count

    def contains(self, points: NDArray[np.float64], loop: NDArray[np.int64]) -> NDArray[np.bool_]:
        """For each pair of a point (n, 2) [mm] and a loop number (n,): is it inside.

        Points on a loop itself may come out either way.
        """
        inside = np.zeros(len(points), bool)
        small = self._count[loop] <= BANDED_FROM_ROWS
        pairs = np.flatnonzero(small)
        number = self._count[loop[pairs]]
        inside[pairs] = self._odd(points[pairs], ranges(self._start[loop[pairs]], number), number)
        large = np.flatnonzero(~small)
        if len(large):
            order = large[np.argsort(loop[large], kind="stable")]
            values, begin = np.unique(loop[order], return_index=True)
            for value, pairs in zip(values, np.split(order, begin[1:]), strict=True):
                inside[pairs] = self._banded(points[pairs], int(value))
        return inside

    def _banded(self, points: NDArray[np.float64], loop: int) -> NDArray[np.bool_]:
        """Inside one long loop: only the rows that span each point's height are tried."""
        rows = np.arange(self._start[loop], self._start[loop] + self._count[loop])
        levels = np.unique(self._rows[rows, :2])
        low = np.searchsorted(levels, self._low[rows])
        spans = np.searchsorted(levels, self._high[rows]) - low
        band = ranges(low, spans)
        order = np.argsort(band, kind="stable")
        row_of = np.repeat(rows, spans)[order]
        number = np.bincount(band, minlength=len(levels))
        start = np.cumsum(number) - number
        at = np.searchsorted(levels, points[:, 1], side="right") - 1
        met = np.where(at >= 0, number[at], 0)
        return self._odd(points, row_of[ranges(start[at], met)], met)

    def _odd(
        self,
        points: NDArray[np.float64],
        rows: NDArray[np.int64],
        number: NDArray[np.int64],
    ) -> NDArray[np.bool_]:
        """Does a ray to +x from each point cross an odd number of its rows."""
        of = np.repeat(np.arange(len(points)), number)
        y = points[of, 1]
        spanning = np.flatnonzero((self._low[rows] <= y) & (y < self._high[rows]))
        rows, of, y = rows[spanning], of[spanning], y[spanning]
        _, _, x0, y0, slope, side = self._rows[rows].T
        height = y - y0
        across = np.sqrt(np.maximum(slope * slope - height * height, 0.0))
        x = np.where(side == 0, x0 + height * slope, x0 + side * across)
        crossed = np.bincount(of[x > points[of, 0]], minlength=len(points))
        result: NDArray[np.bool_] = crossed % 2 == 1
        return result
