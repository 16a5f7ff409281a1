"""Copper on the plates of the end groups: a flat bar on the outer edge, out to the main lead."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.errors import PlanError
from layouts.formats import screws
from layouts.pack import STACK_LEAST_MM, Face, Pack, Side, plate_sheet_mm
from layouts.plates.sizes import fuse_reach_mm, plate_sizes
from layouts.plates.touching import nets_of
from layouts.strips.leads import PAST_OUTLINE_MM
from layouts.strips.lip import positive_end
from layouts.strips.plate import BusPlate, LugEnd, PlateBar

__all__ = [
    "BAR_DABS",
    "SOLDER_MM",
    "bar_stock_mm",
    "cells_under_bar",
    "end_bars",
    "lug_end",
    "outer_row",
    "space_for_bar_mm",
    "takes_a_bar",
]

# All judgement, no source.
BAR_LEAST_PARALLEL = 2  # a single cell has a strip
BAR_WIDE_MM = 9.0  # off the weld spots
BAR_LEAST_MM, BAR_STEP_MM = 4.0, 0.5  # beside fusible necks
BAR_STOCK_MM = (0.5, 0.8, 1.0, 1.5)  # flat copper as sold
BAR_A_MM2 = 15.0  # current density of short copper bars
BAR_OUT_MM = 16.0  # past the last cell's centre line, for a lug, where an outline sets the place
BAR_DABS = 5  # of solder along a bar
SOLDER_MM = 0.1  # beneath a bar
LANDING_MM = 2.0  # of the bar's end that a lead is soldered to
BEND_MM = 1.0  # from the holder's wall to the bends of a lug's end
LUG_FREE_MM = 1.0  # between a lug's screw and floor or lid: an insulating sheet
SMALL_LUG_MM = 0.8  # a balance lead's ring lug
LOCKING_RATIO = 1.5  # a locking nut to a plain one of its size
THREAD_OUT_MM = 1.0  # of screw past its nut
LEVEL_MM = 1e-6


@dataclass(frozen=True, kw_only=True, slots=True)
class Lug:
    """A ring lug as sold: up to which wire, its screw, the bar's width round it, its thickness."""

    wire_mm2: float
    screw: str
    wide_mm: float
    thick_mm: float


LUGS = (  # from memory
    Lug(wire_mm2=6.0, screw="M4", wide_mm=12.0, thick_mm=2.0),
    Lug(wire_mm2=16.0, screw="M5", wide_mm=12.0, thick_mm=2.5),
    Lug(wire_mm2=math.inf, screw="M6", wide_mm=16.0, thick_mm=3.0),
)


def bar_stock_mm(current_a_mm: float, room_mm: float) -> float:
    """Thickness for a current per mm of width: the thinnest stock of enough section, else the
    thickest that ``room_mm`` beneath the lip's face takes: the plate's warmth then asks for more
    sheet."""
    fitting = [thick for thick in BAR_STOCK_MM if thick <= room_mm + LEVEL_MM] or BAR_STOCK_MM[:1]
    enough = (thick for thick in fitting if thick * BAR_A_MM2 >= current_a_mm)
    return next(enough, fitting[-1])


def space_for_bar_mm(pack: Pack, ring_mm: float) -> float:
    """What a can end of that ring leaves of the lip over the sheet and its solder."""
    return pack.holder.lip_mm - ring_mm - STACK_LEAST_MM - SOLDER_MM - plate_sheet_mm(pack.strip)


def _bar_wide_mm(pack: Pack, *, necked: bool) -> float:
    """How wide a bar is: over positive ends with fusible necks, off these. Raises PlanError where
    too little is left."""
    fuse_mm = pack.strip.cell_fuse_mm
    if fuse_mm is None or not necked:
        return BAR_WIDE_MM
    left = plate_sizes(pack).edge_mm - fuse_reach_mm(pack)
    wide = min(BAR_WIDE_MM, BAR_STEP_MM * math.floor(left / BAR_STEP_MM + 1e-9))
    if wide < BAR_LEAST_MM:
        raise PlanError(
            field="strip.cell_fuse_mm",
            value=f"{fuse_mm[0]:g} x {fuse_mm[1]:g} mm",
            why=f"leaves {left:.1f} mm beside it for the copper bar at pack plus, "
            f"{BAR_LEAST_MM:g} are needed",
            remedy=f"write a length of {fuse_mm[1] - BAR_LEAST_MM + left:.1f} mm or less, or leave "
            "the key out",
        )
    return wide


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
    wide = _bar_wide_mm(pack, necked=ring > 0)
    thick = bar_stock_mm(current_a / wide, space_for_bar_mm(pack, ring))
    placed = cell_layout.room is not None
    out = -1.0 if placed and pack.leads.side is Side.MINUS_X else 1.0
    edge = float(xy[0, 1]) + up * plate_sizes(pack).edge_mm
    near, far = (xy[0, 0], xy[-1, 0]) if out > 0 else (xy[-1, 0], xy[0, 0])
    lug = None
    low, high = sorted((edge, edge - up * wide))
    if placed:  # in an outline the wire comes to the bar
        tip = float(far) + out * BAR_OUT_MM
        landing = _box(tip - out * LANDING_MM, tip, low, high)
    else:  # past the farthest cell's wall, where the wiring compartment begins
        wall = float(cell_layout.xy_mm[:, 0].max()) + plate_sizes(pack).edge_mm
        lug = lug_end(pack, (wall, edge), (1, -up))
        tip = float(lug.shape.bounds[2])
        landing = lug.pressed
    whole = _box(float(near), tip, low, high)
    second = float(xy[-2, 0] if out > 0 else xy[1, 0])
    return PlateBar(
        pieces=(whole,),
        landing=landing,
        whole=whole,
        kept=_box(second, tip, low, high),
        width_mm=wide,
        thickness_mm=thick,
        lugs=() if lug is None else (lug,),
    )


def lug_end(pack: Pack, corner_mm: tuple[float, float], towards: tuple[int, int]) -> LugEnd:
    """An end for the lug of a main lead, from a corner on towards +-x and +-y.

    It is bent so far towards the other face that head, washer and lug stay off what closes the
    enclosure, by ``LUG_FREE_MM``."""
    lug = next(one for one in LUGS if pack.leads.wire_mm2 <= one.wire_mm2)
    size = screws()[lug.screw]
    (x, y), (along, across) = corner_mm, towards
    first = x + along * BEND_MM
    deep = max(lug.wide_mm, PAST_OUTLINE_MM - BEND_MM)
    outward = size.head_high_mm + size.washer_high_mm + lug.thick_mm
    room = pack.holder.lip_mm + pack.enclosure.gas_gap_mm - LUG_FREE_MM
    drop = math.ceil(max(0.0, outward - room))
    middle = (first + along * deep / 2.0, y + across * lug.wide_mm / 2.0)
    nut = size.washer_high_mm + SMALL_LUG_MM + LOCKING_RATIO * size.nut_high_mm
    return LugEnd(
        shape=_box(x, first + along * deep, y, y + across * lug.wide_mm),
        screw=lug.screw,
        at_mm=middle,
        hole_mm=size.clearance_diameter_mm,
        washer_mm=size.washer_diameter_mm,
        bend_mm=first,
        drop_mm=float(drop),
        outward_mm=outward - drop,
        inward_mm=drop + nut + THREAD_OUT_MM,
    )


def _box(x0: float, x1: float, y0: float, y1: float) -> shapely.Polygon:
    return shapely.box(min(x0, x1), y0, max(x0, x1), y1)
