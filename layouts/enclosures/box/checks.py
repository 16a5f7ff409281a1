"""Checks of tub and lid: screws, clearance and play of the cell block, pads, bend of the leads."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.enclosures.box.bosses import SCREW_PITCH_MM
from layouts.enclosures.box.seams import put_in_mm, seam_line
from layouts.enclosures.box.shapes import boss_shape, standing_shape
from layouts.enclosures.box.sizes import Boss, EnclosureDesign
from layouts.enclosures.box.wires import tub_wire_checks
from layouts.enclosures.laps import SEAM_GAP_MM, lap_levels
from layouts.enclosures.play import DIRECTIONS, FIT_MM, HOLD_MM, play_mm
from layouts.enclosures.support_pads import support_pads_clear
from layouts.formats import screws as screw_sizes
from layouts.holders.shape import cell_block_shape
from layouts.pack import Pack
from layouts.parts.board_room import lead_bend_room_mm
from layouts.parts.shell import Rect, box, disc
from layouts.plates.ways_out import ways_out
from layouts.strips.joining import Interconnect

if TYPE_CHECKING:
    from layouts.holders.fastening import CellBlock

PRACTICE = "common practice, no source"
LEVEL_MM = 1e-6  # float noise in sums of millimetres
SEAM_CLEAR_MM = 0.8  # two lines of a 0.4 nozzle; common practice, no source
SEEN_MM = 60.0  # a free way is measured no farther
FINE_MM = 0.03  # what fine polygons may be off by


def enclosure_checks(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
    design: EnclosureDesign,
) -> tuple[Check, ...]:
    """All checks of the enclosure but the vent path."""
    return (
        lid_screw_spacing(design),
        enclosure_room(pack, interconnect, cell_block, design),
        cell_block_held(cell_block, design),
        support_pads_clear(pack, cell_layout, interconnect, design.support_pads),
        outlet_bend(pack, design),
        *(
            tub_wire_checks(pack, interconnect, design, cell_block_rect(cell_block))
            if pack.enclosure.wire_ways
            else ()
        ),
        *(
            (seam_screw_access(design), seams_clear(design))
            if design.tub_seams.pieces + design.lid_seams.pieces > 2
            else ()
        ),
    )


def screws_round(design: EnclosureDesign) -> list[Boss]:
    """Lid screws in order round the rim, counter-clockwise from the -x -y corner."""
    c = design.cavity
    width, length = c.size_mm

    def place(boss: Boss) -> float:
        ways = {
            "-y": (abs(boss.y_mm - c.y0), boss.x_mm - c.x0),
            "+x": (abs(boss.x_mm - c.x1), width + boss.y_mm - c.y0),
            "+y": (abs(boss.y_mm - c.y1), width + length + c.x1 - boss.x_mm),
            "-x": (abs(boss.x_mm - c.x0), 2 * width + length + c.y1 - boss.y_mm),
        }
        return min(ways.values())[1]

    return sorted((b for b in design.bosses if b.screw), key=place)


def lid_screw_spacing(design: EnclosureDesign) -> Check:
    """No two neighbouring lid screws are farther apart than the pitch."""
    screws = screws_round(design)
    places = np.array([(b.x_mm, b.y_mm) for b in screws]).reshape(-1, 2)
    # fewer than 3 hold no lid: their distance is then that round the whole rim
    gaps = (
        np.hypot(*(np.roll(places, -1, axis=0) - places).T)
        if len(screws) >= 3
        else np.array([2.0 * sum(design.cavity.size_mm)])
    )
    widest = int(np.argmax(gaps))
    value = float(gaps[widest])
    where = ""
    if len(screws) >= 3:
        where = f"from ({places[widest, 0]:.0f}, {places[widest, 1]:.0f}) on, counter-clockwise"
    return Check(
        id="lid_screw_spacing", about="largest spacing of lid screws around the rim",
        holds=value <= SCREW_PITCH_MM, value=value, limit=SCREW_PITCH_MM, unit="mm",
        source=PRACTICE, remedy="add a boss for a lid screw there", at_least=False,
        where=where,
    )  # fmt: skip


def enclosure_room(
    pack: Pack, interconnect: Interconnect, cell_block: CellBlock, design: EnclosureDesign
) -> Check:
    """The cell block with its strips goes straight down past walls, bosses, guides and board."""
    held = cell_block_shape(cell_block.outline)
    leaving = [way.space for way in ways_out(pack, interconnect, held)]
    way_down = shapely.union_all([held, *leaving])
    standing = standing_shape(design).union(box(design.bay.board))
    gap = float(shapely.distance(way_down, standing))
    if gap == 0.0:  # report by how much: the size of the deepest overlap
        gap = -math.sqrt(float(shapely.intersection(way_down, standing).area))
    limit = FIT_MM - FINE_MM
    return Check(
        id="enclosure_room",
        about="insertion clearance of the cell block in the tub",
        holds=gap >= limit, value=gap, limit=limit, unit="mm", source="geometry",
        remedy="a larger enclosure.side_gap_mm, or a smaller bms.board_mm",
    )  # fmt: skip


def cell_block_held(cell_block: CellBlock, design: EnclosureDesign) -> Check:
    """Bosses and walls stop the cell block from sliding any way in the plan."""
    shape, standing = cell_block_shape(cell_block.outline), standing_shape(design)
    plays = {name: play_mm(shape, standing, way) for name, way in DIRECTIONS.items()}
    worst = max(plays, key=lambda name: plays[name])
    return Check(
        id="core_held", about="play of the cell block in the tub",
        holds=plays[worst] <= HOLD_MM, value=plays[worst], limit=HOLD_MM, unit="mm",
        source=PRACTICE, at_least=False, where=f"towards {worst}",
        remedy="a smaller enclosure.side_gap_mm, so that bosses and walls stand closer",
    )  # fmt: skip


def cell_block_rect(cell_block: CellBlock) -> Rect:
    """Box of the held cells in the plan."""
    x0, y0, x1, y1 = cell_block.box_mm
    return Rect(x0=x0, y0=y0, x1=x1, y1=y1)


def outlet_bend(pack: Pack, design: EnclosureDesign) -> Check:
    """Space before the glands for the bend of the main leads."""
    limit = lead_bend_room_mm(pack)
    return Check(
        id="outlet_bend", about="room for the leads' bend radius between gland wall and cell block",
        holds=design.bend_room_mm >= limit - LEVEL_MM, value=design.bend_room_mm, limit=limit,
        unit="mm",
        source="4 outside diameters: common practice, no source",
        remedy="thinner wires (leads.wire_mm2) or two in parallel",
    )  # fmt: skip


def seams_clear(design: EnclosureDesign) -> Check:
    """No seam of tub or lid runs through another feature (boss, pad, opening, drip skirt)."""
    wall = design.wall_x_mm[1]
    tub = {
        "drain": [disc(d.x_mm, d.y_mm, d.radius_mm) for d in design.drains],
        "pad": [disc(p.x_mm, p.y_mm, p.radius_mm) for p in design.support_pads_floor],
        "guide": [box(r) for r in (*design.bay.guides, *design.bay.rests)],
        "tie post": [box(r) for post in design.tie_posts for r in post.rects],
        "slot": [box(design.slot_rect(s)) for s in design.slots],
        "gland": [
            shapely.box(
                wall - design.wall_mm, g.y_mm - g.hole_radius_mm, wall, g.y_mm + g.hole_radius_mm
            )
            for g in design.glands
        ],
        "lug": [box(design.pad_rect(pad)) for pad in design.pads],
    }
    lid = {
        "pad": [disc(p.x_mm, p.y_mm, p.radius_mm) for p in design.support_pads_lid],
        "skirt": [box(r) for s in design.skirts for r in design.skirt_rects(s)],
        "slot": [box(design.slot_rect(s)) for s in design.slots],
    }
    columns = [boss_shape(b) for b in design.bosses]
    least, where = math.inf, ""
    for part, seams, things in (("tub", design.tub_seams, tub), ("lid", design.lid_seams, lid)):
        places = [(0, at) for at in seams.x_mm] + [(1, at) for at in seams.y_mm]
        for axis, at in places:
            line = seam_shape(design, axis, at, part=part)
            for name, shapes in (("column", columns), *things.items()):
                for shape in shapes:
                    gap = float(shapely.distance(line, shape))
                    if gap < least:
                        least, where = gap, f"{part}'s seam at {'xy'[axis]} = {at:.1f}, {name}"
    return Check(
        id="seams_clear", about="clearance from a seam to a boss, pad or opening",
        holds=least >= SEAM_CLEAR_MM, value=least, limit=SEAM_CLEAR_MM, unit="mm",
        source="geometry", where=where,
        remedy="a larger printer.bed_mm, which leaves more positions for a seam",
    )  # fmt: skip


def seam_shape(design: EnclosureDesign, axis: int, at: float, *, part: str) -> BaseGeometry:
    """All that a seam's steps sweep over, from one side of the part to the other."""
    whole = design.tub_box if part == "tub" else design.lid_box
    lines = []
    thick_mm = design.floor_mm if part == "tub" else design.lid_mm
    for _, _, offsets in lap_levels(thick_mm, design.layer_mm):
        for offset in offsets:
            corners = seam_line(
                axis, at, design.cavity, part=part, wall_mm=design.wall_mm, offset=offset
            )
            lines.append(shapely.LineString([(v, u) if axis == 0 else (u, v) for u, v in corners]))
    return shapely.union_all(lines).buffer(SEAM_GAP_MM / 2).intersection(box(whole))


def seam_screw_access(design: EnclosureDesign) -> Check:
    """Each seam screw has free access in line before the joining flange that it passes."""
    head = screw_sizes()[design.lid_screw].head_diameter_mm / 2
    standing = _standing_outside(design)
    least, where = SEEN_MM, ""
    for part, seams in (("tub", design.tub_seams), ("lid", design.lid_seams)):
        for flange in seams.flanges:
            if flange.insert:
                continue
            for screw in flange.screws:
                x, y = screw.x_mm, screw.y_mm
                way = (
                    shapely.box(flange.rect.x0 - SEEN_MM, y - head, flange.rect.x0, y + head)
                    if flange.axis == 0
                    else shapely.box(x - head, flange.rect.y0 - SEEN_MM, x + head, flange.rect.y0)
                )
                face = way.bounds[2 + flange.axis]
                for name, shape, z0, z1 in standing:
                    hit = shape.intersection(way)
                    if hit.area < LEVEL_MM or z0 > screw.z_mm + head or z1 < screw.z_mm - head:
                        continue
                    gap = face - float(hit.bounds[2 + flange.axis])
                    if gap < least:
                        least, where = gap, f"{part}'s joining flange at ({x:.1f}, {y:.1f}), {name}"
    limit = put_in_mm(design.lid_screw)
    return Check(
        id="seam_screw_access",
        about=f"access in front of a seam screw's head, measured up to {SEEN_MM:.0f} mm",
        holds=least >= limit - LEVEL_MM, value=least, limit=limit, unit="mm",
        source="geometry", where=where,
        remedy="a larger printer.bed_mm, which leaves more positions for a seam",
    )  # fmt: skip


def _standing_outside(
    design: EnclosureDesign,
) -> list[tuple[str, BaseGeometry, float, float]]:
    """(name, plan, z0, z1) of all that stands outside the walls, joining flanges too."""
    wall, under, rim = design.wall_x_mm[1], design.z_under_mm, design.z_rim_mm
    found = [("column", boss_shape(b), under, design.z_lid_mm) for b in design.bosses]
    found += [
        ("lug", box(design.pad_rect(pad)), pad.underside_mm, pad.underside_mm + pad.high_mm)
        for pad in design.pads
    ]
    found += [
        ("block", box(design.block_rect(pad)), under, design.block_top_mm)
        for pad in design.pads
        if pad.block_mm
    ]
    found += [
        (
            "gland",
            shapely.box(wall, g.y_mm - g.keep_radius_mm, wall + SEEN_MM, g.y_mm + g.keep_radius_mm),
            g.z_mm - g.keep_radius_mm,
            g.z_mm + g.keep_radius_mm,
        )
        for g in design.glands
    ]
    found += [
        ("skirt", box(r), rim - design.skirt_deep_mm, rim)
        for s in design.skirts
        for r in design.skirt_rects(s)
    ]
    found += [
        ("ear", box(e.rect), e.z0_mm, e.z1_mm)
        for e in (*design.tub_seams.flanges, *design.lid_seams.flanges)
    ]
    return found
