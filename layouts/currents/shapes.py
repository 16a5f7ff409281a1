"""Which shape of a group shares the load best: whole lattice rows or zigzag columns.

Both meet the next group at 2P - 1 touching pairs on a honeycomb. Rows lose least; in zigzag columns
every cell has the same number of links to the next group, so they share most evenly. Taken from the
network, a link over every touching pair and a collector bar across the end group."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from layouts.cells import lattice as lattices
from layouts.cells.sharing import Sharing
from layouts.currents.strips import placed_sharing
from layouts.pack import Lattice, Pack

__all__ = ["ShapeSharing", "shape_sharing"]

SERIES_MOST = 8  # groups that are solved: what is far from the ends repeats itself


@dataclass(frozen=True, kw_only=True, slots=True)
class ShapeSharing:
    """How both shapes share a pack's load; on a grid there is one only."""

    rows: Sharing
    zigzag: Sharing | None


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Cells:
    xy_mm: NDArray[np.float64]
    group: NDArray[np.int64]
    neighbours: NDArray[np.int64]


def shape_sharing(pack: Pack) -> ShapeSharing:
    """Both shapes for a pack's groups, at its load; at most ``SERIES_MOST`` of them are solved."""
    series = min(pack.series, SERIES_MOST)
    row = np.tile(np.arange(pack.parallel), series)
    group = np.repeat(np.arange(1, series + 1), pack.parallel)
    if pack.lattice is Lattice.GRID:
        sites = np.column_stack([row, group])
        return ShapeSharing(rows=_shared(pack, sites, group), zigzag=None)
    rows = np.column_stack([2 * row + group % 2, group])
    # a zigzag runs up the rows, to the right and back; each group stands one site further
    zigzag = np.column_stack([2 * group + row % 2, row])
    return ShapeSharing(rows=_shared(pack, rows, group), zigzag=_shared(pack, zigzag, group))


def _shared(pack: Pack, sites: NDArray[np.int64], group: NDArray[np.int64]) -> Sharing:
    sites = sites.astype(np.int64)
    pitch = pack.pitch_mm
    step = (pitch, pitch)
    if pack.lattice is Lattice.HONEYCOMB:
        step = (pitch / 2, pitch * sqrt(3) / 2)
    cells = _Cells(
        xy_mm=np.asarray(sites * step, dtype=np.float64),
        group=group.astype(np.int64),
        neighbours=lattices.neighbour_pairs(sites, pack.lattice),
    )
    return placed_sharing(pack, cells)
