"""What a planned pack weighs, from its plan alone, before any part is drawn."""

from __future__ import annotations

import math

import numpy as np
import shapely

from layouts.brackets.kind import Bracket
from layouts.cells.arrangement import Arrangement
from layouts.enclosures.box.shapes import box, core_shape, disc, standing_shape
from layouts.enclosures.box.sizes import Cut, EnclosureDesign
from layouts.formats import screws
from layouts.holders.channels import channels_mm
from layouts.holders.fastening import Core
from layouts.pack import Face, Pack
from layouts.planning.mass import STRIP_DENSITY_G_CM3, printed_mass_g
from layouts.strips.joining import Joining

__all__ = ["PRINTED_OFF", "holders_mm3", "housing_mm3", "planned_mass_g"]

# how far the printed volume may be off the finished parts' at full infill; a test holds it there
PRINTED_OFF = 0.08


def planned_mass_g(
    pack: Pack,
    arrangement: Arrangement,
    joining: Joining,
    core: Core,
    enclosure: EnclosureDesign,
    bracket: Bracket,
) -> float:
    """Cells, strips and printed parts, these taken as solid; wires, BMS, screws are not in it."""
    strips_mm3 = sum(
        float(np.hypot(*np.subtract(strip.end_mm, strip.start_mm)))
        * strip.width_mm
        * strip.thickness_mm
        * strip.layers
        for strip in joining.strips
    )
    printed_mm3 = holders_mm3(pack, arrangement, joining, core)
    printed_mm3 += housing_mm3(enclosure, bracket)
    cells_g = pack.series * pack.parallel * pack.cell.mass_g
    strips_g = strips_mm3 / 1000.0 * STRIP_DENSITY_G_CM3[pack.strip.material]
    return cells_g + strips_g + printed_mass_g(pack, printed_mm3)


def holders_mm3(pack: Pack, arrangement: Arrangement, joining: Joining, core: Core) -> float:
    """Plastic of both holders, to within ``PRINTED_OFF``: no signs, seats, bars, gaps of tiles."""
    holder = pack.holder
    shape = core_shape(core.outline)
    shapely.prepare(shape)
    cells = len(arrangement.xy_mm)
    window_mm2 = math.pi / 4 * holder.window_mm**2
    pockets_mm2 = cells * math.pi / 4 * pack.pocket_mm**2
    windows = shapely.buffer(shapely.points(arrangement.xy_mm), holder.window_mm / 2, quad_segs=8)
    volume = 0.0
    for face in Face:
        strips = [strip for strip in joining.strips if strip.face is face]
        quads = channels_mm(pack, strips, core.outline)
        channels = shapely.union_all([shapely.Polygon(quad) for quad in quads])
        channels = shapely.intersection(channels, shape)
        through = float(shapely.area(shapely.intersection(windows, channels)).sum())
        open_mm2 = cells * window_mm2 + float(channels.area) - through
        volume += shape.area * (holder.lip_mm + holder.depth_mm)
        volume -= open_mm2 * holder.lip_mm + pockets_mm2 * holder.depth_mm
    high = pack.lip_to_lip_mm - 2 * holder.depth_mm
    hole_mm2 = math.pi / 4 * screws()[holder.screw].clearance_mm ** 2
    for post in core.posts:
        volume += math.pi * post.radius_mm**2 * high
        volume -= hole_mm2 * (pack.lip_to_lip_mm + 2 * holder.lip_mm)
    return float(volume)


def housing_mm3(enclosure: EnclosureDesign, bracket: Bracket) -> float:
    """Plastic of tub, lid and all brackets, to within ``PRINTED_OFF``: no rounds, small holes."""
    return (
        _tub_mm3(enclosure)
        + _lid_mm3(enclosure)
        + sum(part.drawing.volume_mm3() * len(part.placed) for part in bracket.parts)
    )


def _tub_mm3(design: EnclosureDesign) -> float:
    """Floor, walls, columns, board guides, lugs and pads."""
    high = design.z_rim_mm - design.z_floor_mm
    columns = [disc(b.x_mm, b.y_mm, b.radius_mm) for b in design.bosses]
    floor = shapely.union_all([box(design.outer), *columns]).area
    volume = floor * design.floor_mm + standing_shape(design).area * high
    for lug in design.lugs:
        width, along = design.lug_rect(lug).size_mm
        volume += (width - design.wall_mm / 2) * along * lug.high_mm
    slots = sum(slot.y1_mm - slot.y0_mm for slot in design.slots)
    volume -= slots * design.wall_mm * (design.z_rim_mm - design.slot_z0_mm)
    pads = sum(pad.radius_mm**2 - pad.hole_mm**2 for pad in design.pads_floor)
    return float(volume + math.pi * pads * design.pad_floor_mm) + _ears_mm3(design.tub_cut)


def _lid_mm3(design: EnclosureDesign) -> float:
    """Plate, skirts and pads."""
    columns = [disc(b.x_mm, b.y_mm, b.radius_mm) for b in design.bosses]
    plate = [box(design.outer), *(box(shelf) for shelf in design.shelves), *columns]
    volume = shapely.union_all(plate).area * design.lid_mm
    skirts = sum(skirt.y1_mm - skirt.y0_mm for skirt in design.skirts)
    volume += skirts * design.skirt_mm * design.skirt_deep_mm
    pads = sum(pad.radius_mm**2 - pad.hole_mm**2 for pad in design.pads_lid)
    return float(volume + math.pi * pads * design.pad_lid_mm) + _ears_mm3(design.lid_cut)


def _ears_mm3(cut: Cut) -> float:
    """The ears beside seams, their screw holes not taken out."""
    return sum(
        ear.thick_mm * ear.rect.size_mm[1 - ear.axis] * (ear.z1_mm - ear.z0_mm) for ear in cut.ears
    )
