"""Cells arranged and placed with what planning hands in: the box's estimate, sharing by touch."""

from __future__ import annotations

from layouts.cells import arrange as arranging
from layouts.cells import placed as placing
from layouts.cells.arrangement import CellLayout
from layouts.cells.fields import BlockShape
from layouts.cells.placed_cells import PlacedCells
from layouts.currents.strips import placed_sharing
from layouts.pack import Pack
from layouts.planning.estimate import envelope


def arrange(pack: Pack, *, shape: BlockShape | None = None) -> CellLayout:
    """The arrangement for tub and lid."""
    return arranging.arrange(pack, estimate=envelope, shape=shape)


def place_cells(pack: Pack) -> PlacedCells:
    """The first good placing."""
    return placing.place_cells(pack, share=placed_sharing)
