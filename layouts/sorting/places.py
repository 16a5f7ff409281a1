"""Which cell of a group stands where, and whether the cells still stand where they were sorted."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.pack import MeasuredCells

__all__ = ["MOVED_MM", "on_sites", "sorted_places_check"]

MOVED_MM = 0.05  # the table of sorted cells has three digits; a narrower web moves cells further


def on_sites(
    groups: NDArray[np.int64],
    resistance_mohm: NDArray[np.float64],
    share: NDArray[np.float64],
) -> NDArray[np.int64]:
    """(N,) the cell on each site: within a group, the higher its resistance the greater the share
    of the current that strips bring to the site from cells that are all alike.

    ``groups`` (S, P) of cells, by their places in ``resistance_mohm`` (n,); ``share`` (N,) of
    each site, sites ordered by group."""
    series, parallel = groups.shape
    cells = np.empty(series * parallel, dtype=np.int64)
    for g, group in enumerate(groups):
        sites = np.arange(g * parallel, (g + 1) * parallel)
        # float noise does not decide between sites that mirror each other
        by_share = np.argsort(-np.abs(share[sites]).round(9), kind="stable")
        by_ohm = np.lexsort((group, -resistance_mohm[group]))
        cells[sites[by_share]] = group[by_ohm]
    return cells


def sorted_places_check(measured: MeasuredCells, cell_layout: CellLayout) -> Check:
    """Every site lies where it lay when the cells were sorted: else labels and sites of that plan
    are not those of this one."""
    moved = np.hypot(*(cell_layout.xy_mm - np.asarray(measured.xy_mm)).T)
    site = int(moved.argmax())
    return Check(
        id="sorted_places",
        about="farthest that a cell's site has moved since the cells were sorted",
        holds=bool(moved[site] <= MOVED_MM),
        value=float(moved[site]),
        limit=MOVED_MM,
        unit="mm",
        source="geometry",
        remedy="run cellstead sort again with this pack file, and use its table for measured_cells",
        at_least=False,
        where=f"site {site + 1}, cell {measured.labels[site]}",
    )
