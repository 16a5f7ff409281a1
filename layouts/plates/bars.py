"""Copper on the plates of the end groups: a flat bar on the outer edge, out to the main lead."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.pack import STACK_LEAST_MM, Face, Pack, Side, plate_sheet_mm
from layouts.plates.sizes import plate_sizes
from layouts.plates.touching import nets_of
from layouts.strips.leads import PAST_OUTLINE_MM
from layouts.strips.lip import positive_end
from layouts.strips.plate import BusPlate, PlateBar

__all__ = [
    "BAR_DABS",
    "SOLDER_MM",
    "bar_size_mm",
    "cells_under_bar",
    "end_bars",
    "outer_row",
    "takes_a_bar",
]

# All judgement, no source.
BAR_LEAST_PARALLEL = 2  # a single cell has a strip
BAR_WIDE_MM = 9.0  # off the weld spots
BAR_STOCK_MM = (0.5, 0.8, 1.0, 1.5)  # flat copper as sold
BAR_A_MM2 = 15.0  # current density of short copper bars
BAR_OUT_MM = 16.0  # past the last cell's centre line, for a lug, where an outline sets the place
BAR_DABS = 5  # of solder along a bar
SOLDER_MM = 0.1  # beneath a bar
LANDING_MM = 2.0  # of the bar's end that the lug is pressed onto
LEVEL_MM = 1e-6


def bar_size_mm(current_a: float, room_mm: float) -> tuple[float, float]:
    """Width and thickness for a current: the thinnest stock of enough section, else the thickest
    that ``room_mm`` beneath the lip's face takes: the end plate's warmth then asks for more sheet.
    """
    fitting = [thick for thick in BAR_STOCK_MM if thick <= room_mm + LEVEL_MM] or BAR_STOCK_MM[:1]
    enough = (thick for thick in fitting if BAR_WIDE_MM * thick * BAR_A_MM2 >= current_a)
    return BAR_WIDE_MM, next(enough, fitting[-1])


def outer_row(cell_layout: CellLayout, cells: NDArray[np.int64]) -> tuple[NDArray[np.int64], int]:
    """The straight row of an end group that lies outermost along y, from -x to +x, and its side.

    No cells where the group has another one's cells beyond it, or too few in that row.
    """
    y = cell_layout.xy_mm[:, 1]
    side = -1 if y[cells].mean() < y.mean() else 1
    edge = float((side * y).max())
    row = cells[side * y[cells] > edge - LEVEL_MM]
    whole = np.flatnonzero(side * y > edge - LEVEL_MM)
    if len(row) < BAR_LEAST_PARALLEL or len(row) != len(whole):
        return cells[:0], side
    return row[np.argsort(cell_layout.xy_mm[row, 0])], side


def cells_under_bar(cell_layout: CellLayout, cells: NDArray[np.int64]) -> NDArray[np.int64]:
    """Those of a plate's cells that a bar runs along, from -x to +x; none on one of two groups."""
    if len(np.unique(cell_layout.group[cells])) > 1:
        return cells[:0]
    return outer_row(cell_layout, cells)[0]


def takes_a_bar(cell_layout: CellLayout, plate: BusPlate) -> bool:
    """Whether it joins an end group with a straight outermost row, of enough cells for copper."""
    return len(cells_under_bar(cell_layout, np.array(plate.cells))) > 0


def end_bars(
    pack: Pack, cell_layout: CellLayout, current_a: float
) -> dict[tuple[Face, int], PlateBar]:
    """The bars of both end groups, by face and group, where they have an outermost row."""
    found = {}
    for face in (Face.LOWER, Face.UPPER):
        for net in nets_of(cell_layout, face):
            groups = np.unique(cell_layout.group[net])
            if len(groups) == 1:
                bar = _end_bar(pack, cell_layout, face, net, current_a)
                if bar is not None:
                    found[face, int(groups[0])] = bar
    return found


def _end_bar(
    pack: Pack, cell_layout: CellLayout, face: Face, cells: NDArray[np.int64], current_a: float
) -> PlateBar | None:
    row, up = outer_row(cell_layout, cells)
    if not len(row):
        return None
    xy = cell_layout.xy_mm[row]
    ring = pack.holder.ring_mm if positive_end(cell_layout, face)[cells].any() else 0.0
    room = pack.holder.lip_mm - ring - STACK_LEAST_MM - SOLDER_MM - plate_sheet_mm(pack.strip)
    wide, thick = bar_size_mm(current_a, room)
    placed = cell_layout.room is not None
    out = -1.0 if placed and pack.leads.side is Side.MINUS_X else 1.0
    edge = float(xy[0, 1]) + up * plate_sizes(pack).edge_mm
    near, far = (xy[0, 0], xy[-1, 0]) if out > 0 else (xy[-1, 0], xy[0, 0])
    if placed:  # in an outline the wire comes to the bar
        tip = float(far) + out * BAR_OUT_MM
    else:  # past the farthest cell's wall, where the wiring compartment begins
        tip = float(cell_layout.xy_mm[:, 0].max()) + plate_sizes(pack).edge_mm + PAST_OUTLINE_MM
    low, high = sorted((edge, edge - up * wide))
    whole = _box(float(near), tip, low, high)
    landing = _box(tip - out * LANDING_MM, tip, low, high)
    second = float(xy[-2, 0] if out > 0 else xy[1, 0])
    return PlateBar(
        pieces=(whole,),
        landing=landing,
        whole=whole,
        kept=_box(second, tip, low, high),
        width_mm=wide,
        thickness_mm=thick,
    )


def _box(x0: float, x1: float, y0: float, y1: float) -> shapely.Polygon:
    return shapely.box(min(x0, x1), y0, max(x0, x1), y1)
