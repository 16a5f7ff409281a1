"""What a planned pack weighs, from its plan alone, before any part is drawn."""

from __future__ import annotations

import math
from collections.abc import Iterable

import shapely

from layouts.cells.arrangement import CellLayout
from layouts.formats import screws
from layouts.holders.channels import channels_mm, plate_channels
from layouts.holders.fastening import CellBlock
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face, Pack
from layouts.parts.part import Part
from layouts.planning.mass import mass_of, parts_mass
from layouts.strips.joining import Interconnect

__all__ = ["PRINTED_OFF", "holders_mm3", "planned_mass_g"]

# how far the printed volume may be off the finished parts' at full infill; a test holds it there
PRINTED_OFF = 0.08


def planned_mass_g(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
    parts: Iterable[Part],
) -> float:
    """Cells, strips with their copper, and printed parts, these taken as solid.

    Wires, BMS and screws are not in it. ``parts``: of enclosure and brackets; the holders are
    estimated.
    """
    volumes, metal_g = parts_mass(parts)
    holders = holders_mm3(pack, cell_layout, interconnect, cell_block)
    return mass_of(pack, interconnect, [holders, *volumes], sheet_metal_g=metal_g).total_g


def holders_mm3(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
) -> float:
    """Plastic of both holders, to within ``PRINTED_OFF``: no signs, seats, bars, gaps of tiles."""
    holder = pack.holder
    shape = cell_block_shape(cell_block.outline)
    shapely.prepare(shape)
    cells = len(cell_layout.xy_mm)
    window_mm2 = math.pi / 4 * holder.window_mm**2
    pockets_mm2 = cells * math.pi / 4 * pack.pocket_mm**2
    windows = shapely.buffer(shapely.points(cell_layout.xy_mm), holder.window_mm / 2, quad_segs=8)
    volume = 0.0
    for face in Face:
        strips = [strip for strip in interconnect.strips if strip.face is face]
        quads = channels_mm(pack, strips, cell_block.outline)
        plates = plate_channels(pack, interconnect, face)
        channels = shapely.union_all([*(shapely.Polygon(quad) for quad in quads), *plates])
        channels = shapely.intersection(channels, shape)
        through = float(shapely.area(shapely.intersection(windows, channels)).sum())
        open_mm2 = cells * window_mm2 + float(channels.area) - through
        volume += shape.area * (holder.lip_mm + holder.depth_mm)
        volume -= open_mm2 * holder.lip_mm + pockets_mm2 * holder.depth_mm
    high = pack.lip_to_lip_mm - 2 * holder.depth_mm
    hole_mm2 = math.pi / 4 * screws()[holder.screw].clearance_diameter_mm ** 2
    for post in cell_block.posts:
        volume += math.pi * post.radius_mm**2 * high
        volume -= hole_mm2 * (pack.lip_to_lip_mm + 2 * holder.lip_mm)
    return float(volume)
