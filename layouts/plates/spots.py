"""Weld spots of a plate on the can ends: shots of two spots side by side, across each other."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.plates.pierced import bench_spots
from layouts.strips.plate import BusPlate
from layouts.strips.weld_spots import PROBES_MM

__all__ = ["layer_spots", "plate_spots"]

SHOTS_MM = 3.6  # between the outermost shots of a can end: they stay within any pad


def plate_spots(cell_layout: CellLayout, plate: BusPlate) -> NDArray[np.float64]:
    """(cells, shots, 2, 2) middles of both spots of every shot, in the pack's x and y.

    The two probes of a shot stand along x, the shots beside each other along y.
    """
    return _shots(cell_layout, plate, _rows(plate))


def layer_spots(cell_layout: CellLayout, plate: BusPlate, layer: int) -> NDArray[np.float64]:
    """The same of one layer, from 0: the lowest one's on the can, each further one's single shot on
    the layer beneath, clear of that one's spots.

    A layer that lies beneath another metal has the shot that joins both, beside its hole; that
    metal's own are on the can."""
    rows = _rows(plate)
    if plate.pierced is not None:
        if plate.is_pierced(layer):
            return bench_spots(cell_layout, plate)
        layer -= sum(plate.is_pierced(beneath) for beneath in range(layer))
    if layer == 0:
        return _shots(cell_layout, plate, rows)
    between = float(rows[:2].mean()) if len(rows) > 1 else SHOTS_MM / 2.0
    return _shots(cell_layout, plate, np.array([between if layer % 2 else float(rows[0])]))


def _rows(plate: BusPlate) -> NDArray[np.float64]:
    """Where the shots onto the can stand, from its middle."""
    shots = -(-plate.spots // 2)
    return np.linspace(-0.5, 0.5, shots) * SHOTS_MM if shots > 1 else np.zeros(1)


def _shots(
    cell_layout: CellLayout, plate: BusPlate, rows: NDArray[np.float64]
) -> NDArray[np.float64]:
    offsets = np.array([[(-PROBES_MM / 2, y), (PROBES_MM / 2, y)] for y in rows])
    return np.asarray(cell_layout.xy_mm[list(plate.cells)][:, None, None] + offsets)
