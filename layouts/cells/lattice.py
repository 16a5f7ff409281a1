"""Lattice sites: where they lie, which touch, and the Voronoi cell of one.

A site is (column, row). On a grid x = column * pitch. On a honeycomb columns are counted
in half pitches, so a row holds every second column and row + column is even: every
neighbour is then one of six fixed steps, and a straight lattice line is a fixed step
repeated.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from layouts.pack import Lattice

_STEPS: dict[Lattice, tuple[tuple[int, int], ...]] = {
    Lattice.HONEYCOMB: ((2, 0), (1, 1), (-1, 1)),
    Lattice.GRID: ((1, 0), (0, 1)),
}


def column_mm(lattice: Lattice, pitch_mm: float) -> float:
    """Distance in x between consecutive column numbers."""
    return pitch_mm / 2 if lattice is Lattice.HONEYCOMB else pitch_mm


def row_mm(lattice: Lattice, pitch_mm: float) -> float:
    """Distance in y between rows (honeycomb: equilateral triangles, pitch * sqrt(3) / 2)."""
    return pitch_mm * sqrt(3) / 2 if lattice is Lattice.HONEYCOMB else pitch_mm


def centres_mm(
    sites: NDArray[np.int64],
    lattice: Lattice,
    *,
    pitch_mm: float,
    column_shifts_mm: Mapping[int, float] | None = None,
    row_shifts_mm: Mapping[int, float] | None = None,
) -> NDArray[np.float64]:
    """Centres of sites, (n, 2), origin at the centre of their bounding box.

    A shift {line: mm} moves every site whose column (row) is at or beyond the line.
    """
    xy = sites * np.array([column_mm(lattice, pitch_mm), row_mm(lattice, pitch_mm)])
    for axis, shifts in enumerate((column_shifts_mm, row_shifts_mm)):
        for line, shift_mm in sorted((shifts or {}).items()):
            xy[:, axis] += np.where(sites[:, axis] >= line, shift_mm, 0.0)
    if len(xy):
        xy -= (xy.min(axis=0) + xy.max(axis=0)) / 2
    return np.asarray(xy, dtype=np.float64)


def neighbour_pairs(sites: NDArray[np.int64], lattice: Lattice) -> NDArray[np.int64]:
    """Touching pairs of distinct sites, (m, 2) with i < j, in order."""
    low = sites.min(axis=0) - 3  # a step never reaches outside this frame
    width = int(np.ptp(sites[:, 0])) + 7
    key = (sites[:, 1] - low[1]) * width + sites[:, 0] - low[0]
    order = np.argsort(key, kind="stable")
    ranked = key[order]
    found = []
    for column, row in _STEPS[lattice]:
        wanted = key + row * width + column
        at = np.minimum(np.searchsorted(ranked, wanted), len(ranked) - 1)
        hit = np.flatnonzero(ranked[at] == wanted)
        found.append(np.column_stack([hit, order[at[hit]]]))
    pairs = np.sort(np.concatenate(found), axis=1)
    return np.asarray(pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))], dtype=np.int64)


def row_growth_mm(lattice: Lattice, *, pitch_mm: float, apart_mm: float) -> float:
    """Shift in y between two rows after which all centres across are ``apart_mm`` apart."""
    across = column_mm(lattice, pitch_mm) if lattice is Lattice.HONEYCOMB else 0.0
    return max(0.0, sqrt(max(apart_mm**2 - across**2, 0.0)) - row_mm(lattice, pitch_mm))


def column_growth_mm(lattice: Lattice, *, pitch_mm: float, apart_mm: float) -> float:
    """Shift in x between two columns after which all centres across are ``apart_mm`` apart.

    On a honeycomb the slanted pairs decide: they stand half a pitch apart in x.
    """
    if lattice is Lattice.GRID:
        return max(0.0, apart_mm - pitch_mm)
    up = row_mm(lattice, pitch_mm)
    return max(0.0, sqrt(max(apart_mm**2 - up**2, 0.0)) - pitch_mm / 2)
