"""Small arrangements laid by hand for tests: one lane of groups, a fold, a field in tiles."""

from __future__ import annotations

import numpy as np

from layouts.cells.arrangement import CellLayout, Seam
from layouts.cells.lattice import centres_mm, neighbour_pairs
from layouts.pack import Lattice, Pack


def laid(
    pack: Pack,
    *,
    rows: int = 1,
    row_cut: int | None = None,
    column_cut: int | None = None,
    fold: int | None = None,
    growth_mm: float = 2.0,
) -> CellLayout:
    """Groups of ``rows`` rows each, stacked along y; the last rows of a group may be shorter.

    ``row_cut``: a tile seam below that row. ``column_cut``: a tile seam left of that column of
    the lattice. ``fold``: a volts seam, with a barrier, below that row. Invented fields.
    """
    step = 2 if pack.lattice is Lattice.HONEYCOMB else 1
    length = -(-pack.parallel // rows)
    sites, group = [], []
    for g in range(pack.series):
        for k in range(pack.parallel):
            row, column = g * rows + k // length, k % length
            sites.append((step * column + (row % 2 if step == 2 else 0), row))
            group.append(g + 1)
    at = np.array(sites, dtype=np.int64)
    order = np.array(group, dtype=np.int64)
    tile = np.zeros(len(at), dtype=np.int64)
    row_shifts, column_shifts = {}, {}
    if row_cut is not None:
        tile += 1 * (at[:, 1] >= row_cut)
        row_shifts[row_cut] = growth_mm
    if column_cut is not None:
        tile += (1 + int(tile.max())) * (at[:, 0] >= column_cut)
        column_shifts[column_cut] = growth_mm
    if fold is not None:
        row_shifts[fold] = growth_mm
    xy = centres_mm(
        at,
        pack.lattice,
        pitch_mm=pack.pitch_mm,
        row_shifts_mm=row_shifts,
        column_shifts_mm=column_shifts,
    )
    pairs = neighbour_pairs(at, pack.lattice)
    seams = []
    for axis, line, reason in ((1, row_cut, "tile"), (0, column_cut, "tile"), (1, fold, "volts")):
        if line is not None:
            beyond = at[:, axis] >= line
            across = pairs[beyond[pairs[:, 0]] != beyond[pairs[:, 1]]]
            seams.append(
                Seam(
                    reason=reason,
                    growth_mm=growth_mm,
                    pairs=across,
                    volts=4.2,
                    barrier=reason == "volts",
                )
            )
    return CellLayout(
        pitch_mm=pack.pitch_mm,
        xy_mm=xy,
        sites=at,
        group=order,
        positive_up=order % 2 == 1,
        neighbours=pairs,
        tile=tile,
        seams=tuple(seams),
        empty_sites=0,
        lanes=1,
        rows_per_group=rows,
        fewest_contacts=length,
    )
