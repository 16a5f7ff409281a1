"""Touching cells as arrays, and what a grouping of them amounts to."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

__all__ = ["CellContacts", "contacts", "group_contacts", "pieces_of", "steps_of", "worst_of"]

IntArray = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CellContacts:
    """Cells and which of them touch.

    ``xy_mm`` (n, 2). ``pairs`` (m, 2), i < j. ``around`` (n, d): neighbours of each cell by
    angle, -1 where there is none. ``pitch_mm``: usual distance of touching cells.
    """

    xy_mm: NDArray[np.float64]
    pairs: IntArray
    around: IntArray
    pitch_mm: float

    @property
    def count(self) -> int:
        """Cells."""
        return len(self.xy_mm)


def contacts(xy_mm: NDArray[np.float64], pairs: NDArray[np.int64]) -> CellContacts:
    """Cells (n, 2) [mm] and touching pairs (m, 2), made ready for searching."""
    xy = np.ascontiguousarray(xy_mm, dtype=np.float64).reshape(-1, 2)
    both = np.unique(np.sort(np.asarray(pairs, dtype=np.int64).reshape(-1, 2), axis=1), axis=0)
    both = both[both[:, 0] != both[:, 1]]
    count = len(xy)
    ends = np.concatenate([both, both[:, ::-1]])
    way = xy[ends[:, 1]] - xy[ends[:, 0]]
    # rounded, so that one lattice gives one order whatever the last digits of its places
    angle = np.round(np.arctan2(way[:, 1], way[:, 0]), 6)
    ends = ends[np.lexsort((ends[:, 1], angle, ends[:, 0]))]
    degree = np.bincount(ends[:, 0], minlength=count)
    slot = np.arange(len(ends)) - np.repeat(np.cumsum(degree) - degree, degree)
    around = np.full((count, max(1, int(degree.max(initial=0)))), -1, dtype=np.int64)
    around[ends[:, 0], slot] = ends[:, 1]
    pitch = float(np.median(np.hypot(*way.T))) if len(way) else 1.0
    return CellContacts(xy_mm=xy, pairs=both, around=around, pitch_mm=pitch)


def steps_of(field: CellContacts, group: IntArray) -> IntArray:
    """Difference in group number of each touching pair (m,); 0 where a site is empty."""
    one, other = group[field.pairs[:, 0]], group[field.pairs[:, 1]]
    return np.where((one > 0) & (other > 0), np.abs(one - other), 0)


def group_contacts(field: CellContacts, group: IntArray, series: int) -> IntArray:
    """Touching pairs (S-1,) between consecutive groups."""
    ends = group[field.pairs]
    low = ends.min(axis=1)
    low = low[(low > 0) & (np.abs(ends[:, 0] - ends[:, 1]) == 1)]
    return np.bincount(low, minlength=series)[1:series].astype(np.int64)


def pieces_of(field: CellContacts, group: IntArray, series: int) -> IntArray:
    """Connected pieces (S,) of each group; 0 for a group without cells."""
    ends = group[field.pairs]
    same = field.pairs[(ends[:, 0] == ends[:, 1]) & (ends[:, 0] > 0)]
    graph = coo_matrix(
        (np.ones(len(same), dtype=np.int8), (same[:, 0], same[:, 1])),
        shape=(field.count, field.count),
    )
    _, label = connected_components(graph, directed=False)
    seen, first = np.unique(label, return_index=True)
    owner = group[first[np.argsort(seen)]]
    return np.bincount(owner, minlength=series + 1)[1 : series + 1].astype(np.int64)


def worst_of(field: CellContacts, group: IntArray) -> tuple[tuple[int, int] | None, int]:
    """The touching pair whose groups lie furthest apart along the path, and by how many."""
    steps = steps_of(field, group)
    if not len(steps) or steps.max() == 0:
        return None, 0
    at = int(np.argmax(steps))
    return (int(field.pairs[at, 0]), int(field.pairs[at, 1])), int(steps[at])
