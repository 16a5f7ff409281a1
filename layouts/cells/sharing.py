"""How evenly cells share a load, and what that is worth when groupings are compared.

The currents are worked out above this folder: they come in by a function, a ``Share``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from layouts.cells.placed_cells import PlacedCells
from layouts.cells.spacing import HIGH_VOLTS
from layouts.pack import Pack

__all__ = ["Share", "Sharing", "sharing_cost"]

LOSS_WEIGHT = 10.0  # 1 % of the power lost weighs as much as 10 % of spread; judgement, no source
BARRIER_COST = 0.2  # of spread; judgement, no source


@dataclass(frozen=True, kw_only=True, slots=True)
class Sharing:
    """How evenly cells share a load, and what the strips cost.

    ``spread_ratio``: (largest - smallest) / mean cell current within a group, worst group;
    ``strip_loss_w``; ``hottest_link_a``; all at ``load_a``.
    """

    load_a: float
    spread_ratio: float
    strip_loss_w: float
    hottest_link_a: float


Share = Callable[[Pack, PlacedCells], Sharing]


def sharing_cost(pack: Pack, placed: PlacedCells, shared: Sharing) -> float:
    """How uneven the cells' shares are, and how much of the power stays in the strips."""
    power_w = shared.load_a * pack.series * pack.cell.nominal_v
    cost = shared.spread_ratio + LOSS_WEIGHT * shared.strip_loss_w / power_w
    step = np.abs(np.diff(placed.group[placed.neighbours], axis=1)).max(initial=1)
    # neighbours that need a barrier cost all cells a wider web
    return cost + (BARRIER_COST if step * pack.cell.full_v > HIGH_VOLTS else 0.0)
