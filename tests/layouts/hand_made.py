"""Small hand-made arrangements for tests of strips: groups in blocks of rows, no search."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.pack import Lattice, Pack


def cell_layout_of(pack: Pack, sites: NDArray[np.int64], group: NDArray[np.int64]) -> CellLayout:
    """An arrangement from lattice (column, row) pairs (N, 2) and groups (N,); odd rows shift."""
    order = np.argsort(group, kind="stable")
    sites, group = np.asarray(sites)[order], np.asarray(group)[order]
    honeycomb = pack.lattice is Lattice.HONEYCOMB
    pitch = pack.pitch_mm
    x = sites[:, 0] * pitch + (sites[:, 1] % 2) * pitch / 2 * honeycomb
    y = sites[:, 1] * pitch * (math.sqrt(3) / 2 if honeycomb else 1.0)
    xy = np.column_stack([x, y]).astype(float)
    xy -= (xy.max(axis=0) + xy.min(axis=0)) / 2
    apart = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))
    neighbours = np.argwhere(np.triu(apart < 1.01 * pitch, 1))
    return CellLayout(
        pitch_mm=pitch,
        xy_mm=xy,
        sites=sites,
        group=group.astype(np.int64),
        positive_up=group % 2 == 1,
        neighbours=neighbours.astype(np.int64),
        tile=np.zeros(len(xy), dtype=np.int64),
        seams=(),
        empty_sites=0,
        lanes=1,
        rows_per_group=1,
        fewest_contacts=1,
    )


def in_rows(pack: Pack, rows_per_group: int = 1) -> CellLayout:
    """Each group its own block of rows, the last row of a block shorter where P asks for it."""
    wide = -(-pack.parallel // rows_per_group)
    sites: list[tuple[int, int]] = []
    group: list[int] = []
    row = 0
    for g in range(1, pack.series + 1):
        left = pack.parallel
        while left:
            here = min(left, wide)
            # short rows stand at the right, where an end group's lead leaves
            sites += [(wide - here + c, row) for c in range(here)]
            group += [g] * here
            left -= here
            row += 1
    return cell_layout_of(pack, np.array(sites), np.array(group))


def in_a_snake(pack: Pack, columns: int) -> CellLayout:
    """Groups one after the other, there and back over rows of so many columns."""
    count = pack.series * pack.parallel
    k = np.arange(count)
    row, at = k // columns, k % columns
    column = np.where(row % 2 == 0, at, columns - 1 - at)
    return cell_layout_of(pack, np.column_stack([column, row]), k // pack.parallel + 1)
