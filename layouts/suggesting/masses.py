"""What a planned pack weighs, from its plan alone, before any part is drawn."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import shapely

from layouts.cells.arrangement import CellLayout
from layouts.formats import screws
from layouts.holders.channels import channels_mm
from layouts.holders.fastening import CellBlock
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face, Pack
from layouts.parts.part import Part
from layouts.planning.mass import STRIP_DENSITY_G_CM3, printed_mass_g
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
    """Cells, strips and printed parts, these taken as solid; wires, BMS, screws are not in it.

    ``parts``: of enclosure and brackets; the holders are estimated.
    """
    strips_mm3 = sum(
        float(np.hypot(*np.subtract(strip.end_mm, strip.start_mm)))
        * strip.width_mm
        * strip.thickness_mm
        * strip.layers
        for strip in interconnect.strips
    )
    printed_mm3 = holders_mm3(pack, cell_layout, interconnect, cell_block)
    printed_mm3 += sum(part.drawing.volume_mm3() * len(part.placed) for part in parts)
    cells_g = pack.series * pack.parallel * pack.cell.mass_g
    strips_g = strips_mm3 / 1000.0 * STRIP_DENSITY_G_CM3[pack.strip.material]
    return cells_g + strips_g + printed_mass_g(pack, printed_mm3)


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
        channels = shapely.union_all([shapely.Polygon(quad) for quad in quads])
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
