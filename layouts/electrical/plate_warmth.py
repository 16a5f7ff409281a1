"""How warm plates get over the can ends they are welded to, by the field in each sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.currents.strips import face_column, strip_nodes
from layouts.heat.convection import KELVIN
from layouts.heat.model import STILL_AIR_W_M2K
from layouts.heat.paths import LORENZ_W_OHM_K2
from layouts.strips.plate import BusPlate

__all__ = ["RISE_MOST_K", "NodeVolts", "plate_rises_k"]

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
    cell_layout: CellLayout, plates: Sequence[BusPlate], flow: NodeVolts
) -> NDArray[np.float64]:
    """(plates,) hottest place of each sheet over its can ends, welded places held at theirs.

    At the flow's current, resistances at 20 C; goes with the current squared."""
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
    return rises


def _contact_v(cell_layout: CellLayout, plate: BusPlate, flow: NodeVolts) -> NDArray[np.float64]:
    """Volts at a plate's contacts: its can ends, then the main lead's landing."""
    nodes = strip_nodes(cell_layout)[list(plate.cells), face_column(plate.face)]
    volts = flow.node_v[nodes]
    if not plate.is_end:
        return np.asarray(volts)
    return np.append(volts, 0.0 if plate.is_minus else flow.volts)
