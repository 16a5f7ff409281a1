"""Where plates lie over a seam between two holder tiles: the gaps that the tiles' tabs need."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.cells.cuts import INTERLOCKS_APART_MM, LEAST_INTERLOCKS

__all__ = ["SEAM_HOLES_MM", "seam_gaps"]

Gap = tuple[int, ...]

SEAM_HOLES_MM = (8.0, 6.0)  # round punches, largest first: a tab's socket and lip round it


def seam_gaps(cell_layout: CellLayout, gaps: Sequence[Gap]) -> list[tuple[int, tuple[Gap, ...]]]:
    """For each seam under plates how many tabs it needs, and the gaps for them, best first.

    ``gaps``: all gaps under the plates of one face. Evenly along the seam come first, its ends
    last: most current passes there."""
    tile = cell_layout.tile
    seams: dict[Gap, list[Gap]] = {}
    for gap in gaps:
        both = tuple(np.unique(tile[list(gap)]).tolist())
        if len(both) == 2:
            seams.setdefault(both, []).append(gap)
    found = []
    for mine in seams.values():
        places = _along(cell_layout, mine)
        order = [mine[k] for k in np.argsort(places, kind="stable")]
        wanted = max(LEAST_INTERLOCKS, math.ceil(float(np.ptp(places)) / INTERLOCKS_APART_MM) + 1)
        inner = order[1:-1] if len(order) >= wanted + 2 else order
        even = np.linspace(0, len(inner) - 1, min(wanted, len(inner))).round().astype(int)
        found.append((wanted, tuple(dict.fromkeys([*(inner[k] for k in even), *inner, *order]))))
    return found


def _along(cell_layout: CellLayout, gaps: Sequence[Gap]) -> NDArray[np.float64]:
    """(n,) places of the gaps' middles along the way from the first to the farthest [mm]."""
    middles = np.array([cell_layout.xy_mm[list(gap)].mean(axis=0) for gap in gaps])
    way = middles - middles[0]
    far = way[int(np.argmax(np.hypot(*way.T)))]
    long_mm = float(np.hypot(*far))
    return np.asarray((way @ far / long_mm).round(6)) if long_mm > 0 else np.zeros(len(gaps))
