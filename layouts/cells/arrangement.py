"""Every cell's place, group and which end is up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.cuts import TILE_PLAY_MM
from layouts.pack import Side


@dataclass(frozen=True, kw_only=True, slots=True)
class Seam:
    """A line between rows or lanes where the lattice is widened.

    ``growth_mm`` is what the centre distance across the seam grows by over the pitch.
    ``reason`` is "volts" (distant groups side by side: carries a barrier) or
    "tile" (the holder is cut here for the printer's bed).
    ``pairs`` (m, 2): the touching cells across it; ``volts`` the worst among them.
    """

    reason: str
    growth_mm: float
    pairs: NDArray[np.int64]
    volts: float
    barrier: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class CellLayout:
    """Cells in place, N of them, ordered by group, then along the group.

    ``xy_mm`` (N, 2): centres, origin at the centre of the field's bounding box.
    ``sites`` (N, 2): lattice column and row of each cell (integers).
    ``group`` (N,): 1 at pack minus to S at pack plus. ``positive_up`` (N,).
    ``neighbours`` (M, 2): touching pairs, i < j, also across a widened seam.
    ``tile`` (N,): which holder tile carries the cell, 0-based.
    ``lanes``: 1 where the path of groups is unfolded. ``room``: the space's free plan in pack
    coordinates where the cells were placed in it; None: an enclosure is made to fit.
    ``tile_play_mm``: all round the tabs that join tiles.
    ``lead_sides``: where that takes the leads of pack minus and of pack plus.
    """

    pitch_mm: float
    xy_mm: NDArray[np.float64]
    sites: NDArray[np.int64]
    group: NDArray[np.int64]
    positive_up: NDArray[np.bool_]
    neighbours: NDArray[np.int64]
    tile: NDArray[np.int64]
    seams: tuple[Seam, ...]
    empty_sites: int
    lanes: int
    rows_per_group: int
    fewest_contacts: int
    notes: tuple[str, ...] = ()
    room: shapely.Polygon | shapely.MultiPolygon | None = None
    lead_sides: tuple[Side, Side] = (Side.PLUS_X, Side.PLUS_X)
    tile_play_mm: float = TILE_PLAY_MM

    @property
    def leads_apart(self) -> bool:
        """Whether pack minus leaves at another end than pack plus."""
        return self.lead_sides[0] is not self.lead_sides[1]
