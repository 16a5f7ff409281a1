"""How warm plates get over the can ends they are welded to, by the field in each sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.currents.strips import face_column, strip_nodes
from layouts.electrical.fin import fin_rise_k
from layouts.formats import conductors
from layouts.heat.convection import KELVIN
from layouts.heat.model import STILL_AIR_W_M2K
from layouts.heat.paths import LORENZ_W_OHM_K2
from layouts.strips.plate import BusPlate

__all__ = ["RISE_MOST_K", "NodeVolts", "plate_rises_k", "tail_rise_k"]

RISE_MOST_K = 10.0  # of a sheet over the can ends; judgement, no source
WARM_C = 60.0  # at which the sheet conducts heat: a can's usual limit


class NodeVolts(Protocol):
    """A solved network, as far as the volts of its nodes go."""

    @property
    def node_v(self) -> NDArray[np.float64]:
        """(n,) against minus."""
        ...

    @property
    def volts(self) -> float:
        """Plus over minus."""
        ...


def plate_rises_k(
    cell_layout: CellLayout, plates: Sequence[BusPlate], flow: NodeVolts, *, current_a: float
) -> NDArray[np.float64]:
    """(plates,) hottest place of each sheet over its can ends, welded places held at theirs.

    At the flow's current, resistances at 20 C; goes with the current squared. ``current_a``: of
    the pack in that flow, or at its peak: where the leads leave at both ends all of it passes one
    tail at each, which follows a peak within seconds."""
    alike: dict[int, list[int]] = {}  # plates of the same shape share one field
    for k, plate in enumerate(plates):
        alike.setdefault(id(plate.conducts.field), []).append(k)
    rises = np.zeros(len(plates))
    for same in alike.values():
        rises[same] = plates[same[0]].conducts.field.rises_k(
            np.array([_contact_v(cell_layout, plates[k], flow) for k in same]),
            film_w_m2k=STILL_AIR_W_M2K,
            heat_w_k_siemens=LORENZ_W_OHM_K2 * (WARM_C + KELVIN),
        )
    if cell_layout.leads_apart:
        for k, plate in enumerate(plates):
            if plate.is_end and plate.bar is None:
                rises[k] = max(rises[k], tail_rise_k(plate, current_a))
    return rises


def tail_rise_k(plate: BusPlate, current_a: float) -> float:
    """The end of a tail that a main lead is soldered to, over the sheet that it leaves [K].

    No heat is taken to leave by the wire: half of a fin that is twice as long. 0 without a tail."""
    if plate.tail is None or plate.tail_end_mm is None:
        return 0.0
    end = shapely.Point(plate.tail_end_mm)
    long_m = float(shapely.distance(plate.body, end)) / 1000.0
    x0, y0, x1, y1 = plate.tail.bounds
    wide_m = min(x1 - x0, y1 - y0) / 1000.0
    siemens_m = wide_m * sum(
        layer.thickness_mm / 1000.0 / conductors()[layer.material].ohm_m for layer in plate.layers
    )
    return fin_rise_k(
        w_m=current_a**2 / siemens_m,
        length_m=2.0 * long_m,
        width_m=wide_m,
        heat_w_m_k=LORENZ_W_OHM_K2 * (WARM_C + KELVIN) * siemens_m,
        film_w_m2k=STILL_AIR_W_M2K,
    )


def _contact_v(cell_layout: CellLayout, plate: BusPlate, flow: NodeVolts) -> NDArray[np.float64]:
    """Volts at a plate's contacts: its can ends, then the main lead's landing."""
    nodes = strip_nodes(cell_layout)[list(plate.cells), face_column(plate.face)]
    volts = flow.node_v[nodes]
    if not plate.is_end:
        return np.asarray(volts)
    return np.append(volts, 0.0 if plate.is_minus else flow.volts)
