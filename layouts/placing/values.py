"""What a placing gives back, and the two amounts of work it may take."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.pack import Lattice

__all__ = [
    "LATTICE_PLAY_MM",
    "TOUCHING_MM",
    "TOUCHING_RATIO",
    "Effort",
    "PlacedCentres",
    "touching_pairs",
]

# Cells count as touching, so that a strip may join them, when their centres lie this close to the
# pitch: printing and welding need no more than this; common practice, no source.
TOUCHING_RATIO = 0.005
TOUCHING_MM = 0.05

# A lattice is proven best among those that keep this much more from every wall than required: far
# below what printing holds to.
LATTICE_PLAY_MM = 0.05


class Effort(Enum):
    """How much work a search may take; budgets count steps, never seconds."""

    QUICK = "quick"
    BEST = "best"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlacedCentres:
    """Centres of cells inside a cavity, and how far from the most that could go in.

    ``xy_mm`` (n, 2), in the cavity's coordinates, sorted by row, then along it.
    ``sites`` (n, 2) column and row as in ``layouts.cells.lattice``, such that the centres are
    the sites' places turned by ``angle_deg`` and shifted; None where the cells follow no
    lattice (shifted rows, free). ``neighbours`` (m, 2), i < j, in order: touching pairs.
    ``method``: what won, "lattice", "rows" or "free". ``bound``: more than this many cells
    cannot go in, however placed; ``bound_name``: why. ``lattice_bound``: no turned and shifted
    lattice with more than ``LATTICE_PLAY_MM`` of play holds more (None: not proven).
    """

    xy_mm: NDArray[np.float64]
    lattice: Lattice
    sites: NDArray[np.int64] | None
    neighbours: NDArray[np.int64]
    angle_deg: float
    method: str
    bound: int
    bound_name: str
    lattice_bound: int | None = None
    notes: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """Cells placed."""
        return len(self.xy_mm)


def touching_pairs(xy_mm: NDArray[np.float64], *, pitch_mm: float) -> NDArray[np.int64]:
    """Pairs (m, 2), i < j, in order, whose centres lie within the pitch and the play above."""
    if len(xy_mm) < 2:
        return np.empty((0, 2), dtype=np.int64)
    within = pitch_mm * (1 + TOUCHING_RATIO) + TOUCHING_MM
    pairs = cKDTree(xy_mm).query_pairs(within, output_type="ndarray").astype(np.int64)
    pairs.sort(axis=1)
    return np.asarray(pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))], dtype=np.int64)
