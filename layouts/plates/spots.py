"""Weld spots of a plate on the can ends: shots of two spots side by side, across each other."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.strips.plate import BusPlate
from layouts.strips.weld_spots import PROBES_MM

__all__ = ["plate_spots"]

SHOTS_MM = 3.6  # between the outermost shots of a can end: they stay within any pad


def plate_spots(cell_layout: CellLayout, plate: BusPlate) -> NDArray[np.float64]:
    """(cells, shots, 2, 2) middles of both spots of every shot, in the pack's x and y.

    The two probes of a shot stand along x, the shots beside each other along y.
    """
    shots = -(-plate.spots // 2)
    rows = np.linspace(-0.5, 0.5, shots) * SHOTS_MM if shots > 1 else np.zeros(1)
    offsets = np.array([[(-PROBES_MM / 2, y), (PROBES_MM / 2, y)] for y in rows])
    return np.asarray(cell_layout.xy_mm[list(plate.cells)][:, None, None] + offsets)
