"""Heat of fuse, board and main leads inside an enclosure, besides cells, strips and welds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layouts.cells.arrangement import CellLayout
from layouts.electrical.leads import MainLeads
from layouts.pack import Pack
from layouts.ratings.wire import wire_ohm

__all__ = ["InsideHeat", "inside_heat"]

# voltage drop of a board or a fuse at its rated current where no data sheet gives its heat; most
# have less. Judgement, no source
RATED_DROP_V = 0.1


@dataclass(frozen=True, kw_only=True, slots=True)
class InsideHeat:
    """Resistances that heat the inside of an enclosure; ``watts_at`` a pack current."""

    bms_ohm: float
    fuse_ohm: float
    leads_ohm: float

    def watts_at(self, load_a: float) -> float:
        """Heat of all three, W."""
        return (self.bms_ohm + self.fuse_ohm + self.leads_ohm) * load_a**2


def inside_heat(
    pack: Pack, cell_layout: CellLayout, leads: MainLeads, *, load_a: float
) -> InsideHeat:
    """Of the board and fuse by their data sheets, else by ``RATED_DROP_V`` at their rated current,
    or at ``load_a`` where that is not given either.

    The leads' length inside is not known before they are laid: each is taken as long as the cells'
    box is from corner to corner.
    """
    fuse = pack.fuse
    extent_mm = cell_layout.xy_mm.max(axis=0) - cell_layout.xy_mm.min(axis=0)
    long_mm = float(np.hypot(extent_mm[0], extent_mm[1])) + pack.cell.diameter_mm
    return InsideHeat(
        bms_ohm=_rated_ohm(pack.bms.loss_w, pack.bms.continuous_a or load_a),
        fuse_ohm=_rated_ohm(
            None if fuse is None else fuse.loss_w, load_a if fuse is None else fuse.rating_a
        ),
        leads_ohm=wire_ohm(area_mm2=leads.area_mm2, length_mm=long_mm),
    )


def _rated_ohm(loss_w: float | None, rated_a: float) -> float:
    """Resistance of what makes ``loss_w`` at its rated current."""
    return RATED_DROP_V / rated_a if loss_w is None else loss_w / rated_a**2
