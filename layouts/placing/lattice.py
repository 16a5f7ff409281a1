"""The best offset of a lattice at a fixed angle, exactly.

In units of its basis the lattice is the whole numbers. How many of them a shifted region
holds changes only where the shifted boundary passes over one; so with the boundary cut at the
lines of the unit cells and wrapped into one of them, the most are held at a crossing of two
wrapped pieces or at a piece's end. All of these are counted. Counting goes by rows: a row at
height v holds floor(right - u) - ceil(left - u) + 1 of them between two pieces.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.pack import Lattice
from layouts.placing.basis import basis_mm, rotation
from layouts.placing.region import Region

__all__ = ["Counter", "best_offset", "candidates", "counter_at", "screen"]

Array = NDArray[np.float64]

CHUNK = 4_000_000  # numbers held at once while counting: 32 MB
SAME_OFFSET = 1e-10  # of a basis vector: far below TOUCH_MM on any pitch


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Counter:
    """The boundary cut at the rows, to count the sites held at any offset.

    Piece k spans heights ``low`` to ``high`` within its row (0 to 1), at
    x = ``start`` + ``slope`` * height; ``right``: the region lies at its left.
    """

    low: Array
    high: Array
    start: Array
    slope: Array
    right: NDArray[np.bool_]

    def counts(self, offsets: Array) -> NDArray[np.int64]:
        """(k,) sites held at each of the offsets (k, 2), each in [0, 1)."""
        found = np.zeros(len(offsets), dtype=np.int64)
        rows = max(1, CHUNK // max(1, len(self.low)))
        for first in range(0, len(offsets), rows):
            u, v = offsets[first : first + rows, :1], offsets[first : first + rows, 1:]
            beyond = self.start + self.slope * v - u
            ends = np.where(self.right, np.floor(beyond), 1.0 - np.ceil(beyond))
            ends[(v < self.low) | (v >= self.high)] = 0.0
            found[first : first + rows] = np.rint(ends.sum(axis=1)).astype(np.int64)
        return found


def unit_edges(edges: Array, lattice: Lattice, *, pitch_mm: float, angle_deg: float) -> Array:
    """Edges (m, 4) [mm] in units of the turned basis."""
    back = np.linalg.inv(rotation(angle_deg) @ basis_mm(lattice, pitch_mm=pitch_mm)).T
    return np.hstack([edges[:, :2] @ back, edges[:, 2:] @ back])


def counter_at(region: Region, lattice: Lattice, *, pitch_mm: float, angle_deg: float) -> Counter:
    """A counter for one angle."""
    unit = unit_edges(region.outer_edges, lattice, pitch_mm=pitch_mm, angle_deg=angle_deg)
    unit = unit[unit[:, 1] != unit[:, 3]]
    right = unit[:, 3] > unit[:, 1]
    low_end = np.where(right[:, None], unit[:, :2], unit[:, 2:])
    high_end = np.where(right[:, None], unit[:, 2:], unit[:, :2])
    first = np.floor(low_end[:, 1]).astype(np.int64)
    last = np.floor(high_end[:, 1]).astype(np.int64)
    of, row = _spread(first, last)
    slope = (high_end[:, 0] - low_end[:, 0]) / (high_end[:, 1] - low_end[:, 1])
    start = low_end[of, 0] + slope[of] * (row - low_end[of, 1])
    return Counter(
        low=np.maximum(low_end[of, 1] - row, 0.0),
        high=np.minimum(high_end[of, 1] - row, 1.0),
        start=start,
        slope=slope[of],
        right=right[of],
    )


def candidates(region: Region, lattice: Lattice, *, pitch_mm: float, angle_deg: float) -> Array:
    """(k, 2) offsets, each in [0, 1), one of which holds the most sites at this angle."""
    edges = region.inner_edges if len(region.inner_edges) else region.outer_edges
    pieces = _wrapped(unit_edges(edges, lattice, pitch_mm=pitch_mm, angle_deg=angle_deg))
    tree = shapely.STRtree(shapely.linestrings(pieces.reshape(-1, 2, 2)))
    a, b = tree.query(tree.geometries)
    a, b = a[a < b], b[a < b]
    ahead = pieces[:, 2:] - pieces[:, :2]
    across = ahead[a, 0] * ahead[b, 1] - ahead[a, 1] * ahead[b, 0]
    askew = np.abs(across) > 1e-14
    a, b, across = a[askew], b[askew], across[askew]
    between = pieces[b, :2] - pieces[a, :2]
    s = (between[:, 0] * ahead[b, 1] - between[:, 1] * ahead[b, 0]) / across
    t = (between[:, 0] * ahead[a, 1] - between[:, 1] * ahead[a, 0]) / across
    hit = (np.minimum(s, t) > -1e-9) & (np.maximum(s, t) < 1 + 1e-9)
    crossings = pieces[a[hit], :2] + s[hit, None] * ahead[a[hit]]
    points = np.vstack([crossings, pieces[:, :2], pieces[:, 2:]]) % 1.0
    points[points >= 1.0] = 0.0
    keys = np.round(points / SAME_OFFSET).astype(np.int64)
    _, at = np.unique(keys[:, 0] * 2**34 + keys[:, 1], return_index=True)
    return np.asarray(points[np.sort(at)])


def best_offset(
    region: Region, lattice: Lattice, *, pitch_mm: float, angle_deg: float
) -> tuple[int, tuple[float, float]]:
    """The most sites that any offset holds at this angle, and that offset."""
    if region.is_empty:
        return 0, (0.0, 0.0)
    counter = counter_at(region, lattice, pitch_mm=pitch_mm, angle_deg=angle_deg)
    offsets = candidates(region, lattice, pitch_mm=pitch_mm, angle_deg=angle_deg)
    counts = counter.counts(offsets)
    at = int(counts.argmax())
    return int(counts[at]), (float(offsets[at, 0]), float(offsets[at, 1]))


def screen(
    region: Region, lattice: Lattice, *, pitch_mm: float, angle_deg: float, fineness: int
) -> tuple[int, float]:
    """The most sites and the mean over a coarse net of offsets: which angles deserve more."""
    counter = counter_at(region, lattice, pitch_mm=pitch_mm, angle_deg=angle_deg)
    steps = (np.arange(fineness) + 0.5) / fineness
    u, v = np.meshgrid(steps, steps)
    counts = counter.counts(np.column_stack([u.ravel(), v.ravel()]))
    return int(counts.max()), float(counts.mean())


def _spread(first: NDArray[np.int64], last: NDArray[np.int64]) -> tuple[NDArray[np.int64], ...]:
    """Each index k repeated for every whole number first[k]..last[k], and those numbers."""
    many = np.maximum(last - first + 1, 0)
    of = np.repeat(np.arange(len(first)), many)
    starts = np.cumsum(many) - many
    return of, np.arange(len(of)) - starts[of] + first[of]


def _wrapped(unit: Array) -> Array:
    """Edges cut at every line of the unit cells and moved into the cell at the origin."""
    ahead = unit[:, 2:] - unit[:, :2]
    whose, where = [np.arange(len(unit))], [np.zeros(len(unit))]
    for axis in (0, 1):
        low = np.minimum(unit[:, axis], unit[:, axis + 2])
        high = np.maximum(unit[:, axis], unit[:, axis + 2])
        of, line = _spread(np.floor(low).astype(np.int64) + 1, np.ceil(high).astype(np.int64) - 1)
        whose.append(of)
        where.append((line - unit[of, axis]) / ahead[of, axis])
    of, at = np.concatenate(whose), np.concatenate(where)
    order = np.lexsort((at, of))
    of, at = of[order], at[order]
    until = np.where(np.append(of[1:] == of[:-1], False), np.append(at[1:], 1.0), 1.0)
    starts = unit[of, :2] + at[:, None] * ahead[of]
    ends = unit[of, :2] + until[:, None] * ahead[of]
    cell = np.floor((starts + ends) / 2)
    return np.hstack([starts - cell, ends - cell])
