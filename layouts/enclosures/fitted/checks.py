"""Checks of the fitted enclosure: lid screws, room and play of the held cells, pads, partition."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.enclosures.bending import bending_checks
from layouts.enclosures.fitted.clamp_checks import clamp_checks
from layouts.enclosures.fitted.gasket_checks import gasket_checks
from layouts.enclosures.fitted.lid_screws import PITCH_MM
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.sides import OUTWARD
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.thickness import pressed_plates
from layouts.enclosures.play import FIT_MM, HOLD_MM, play_mm
from layouts.enclosures.support_pads import support_pads_clear
from layouts.holders.fastening import CellBlock
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face, Pack
from layouts.parts.shell import box
from layouts.plates.ways_out import ways_out
from layouts.slabs.profile import Arc
from layouts.strips.joining import Interconnect

__all__ = ["fitted_checks", "standing_shape"]

PRACTICE = "common practice, no source"
FINE_MM = 0.03  # what fine polygons may be off by


def fitted_checks(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
    sizes: FittedSizes,
) -> tuple[Check, ...]:
    """All checks of the enclosure but the vent path."""
    held = cell_block_shape(cell_block.outline)
    levels = sizes.shell.levels
    thick = {
        Face.LOWER: levels.floor_mm - levels.under_mm, Face.UPPER: levels.lid_mm - levels.rim_mm
    }  # fmt: skip
    pressed = pressed_plates(pack, sizes.shell, sizes.support_pads, held)
    return (
        lid_screw_spacing(sizes),
        enclosure_room(pack, interconnect, held, sizes),
        held_in_plan(held, sizes),
        support_pads_clear(
            pack, cell_layout, interconnect, sizes.support_pads,
            {Face.UPPER: 0 if sizes.clamp is None else len(sizes.clamp.cords)},
        ),
        partition_closed(held, sizes),
        least_radius(pack, sizes),
        gas_away(sizes),
        *gasket_checks(pack, sizes),
        *clamp_checks(pack, cell_layout, interconnect, cell_block, sizes),
        *(check for one in pressed for check in bending_checks(one, thick[one.face])),
    )  # fmt: skip


def standing_shape(sizes: FittedSizes) -> BaseGeometry:
    """The plan of all that stands as high as the held cells: walls, partition, guides, board."""
    shell = sizes.shell
    inner, outer = loop_polygon(shell.inner.loop), loop_polygon(shell.outer)
    openings = shapely.union_all([box(rect) for rect in sizes.openings])
    board = sizes.board
    return shapely.union_all(
        [
            outer.difference(inner),
            partition_shape(sizes).difference(openings),
            box(board.board),
            *(box(rect) for rect in (*board.guides, *board.rests)),
        ]
    )


def partition_shape(sizes: FittedSizes) -> BaseGeometry:
    """The partition's plan, as if nothing passed it."""
    shell = sizes.shell
    band = loop_polygon(shell.partition).difference(loop_polygon(shell.cells))
    return band.intersection(loop_polygon(shell.inner.loop))


def lid_screw_spacing(sizes: FittedSizes) -> Check:
    """No two neighbouring lid screws are farther apart than the pitch."""
    places = np.array([screw.at_mm for screw in sizes.shell.screws]).reshape(-1, 2)
    # fewer than 3 hold no lid: their distance is then that round the whole rim
    round_mm = loop_polygon(sizes.shell.inner.loop).length
    gaps = (
        np.hypot(*(np.roll(places, -1, axis=0) - places).T)
        if len(places) >= 3
        else np.array([round_mm])
    )
    widest = int(np.argmax(gaps))
    where = ""
    if len(places) >= 3:
        x, y = places[widest]
        where = f"from ({x:.0f}, {y:.0f}) on, counter-clockwise"
    value = float(gaps[widest])
    return Check(
        id="lid_screw_spacing", about="largest spacing of lid screws around the rim",
        holds=value <= PITCH_MM, value=value, limit=PITCH_MM, unit="mm", source=PRACTICE,
        remedy="add a boss for a lid screw there", at_least=False, where=where,
    )  # fmt: skip


def enclosure_room(
    pack: Pack, interconnect: Interconnect, held: BaseGeometry, sizes: FittedSizes
) -> Check:
    """The held cells with their strips go straight down past walls, partition and board."""
    ways = ways_out(pack, interconnect, held)
    low, high = (
        shapely.union_all([held, *(way.space for way in ways if way.face is face)])
        for face in (Face.LOWER, Face.UPPER)
    )
    stops = shapely.union_all([box(rect) for rect in sizes.stops])
    standing = standing_shape(sizes)
    # metal of the upper face stays above the stops
    gap = min(_gap_mm(low, standing.union(stops)), _gap_mm(held, stops), _gap_mm(high, standing))
    limit = FIT_MM - FINE_MM
    return Check(
        id="enclosure_room", about="insertion clearance of the cell block in the tub",
        holds=gap >= limit, value=gap, limit=limit, unit="mm", source="geometry",
        remedy="a larger enclosure.side_gap_mm, or a smaller bms.board_mm",
    )  # fmt: skip


def _gap_mm(one: BaseGeometry, other: BaseGeometry) -> float:
    """Distance of two shapes; below 0 the size of their overlap."""
    if other.is_empty:
        return math.inf
    gap = float(shapely.distance(one, other))
    return gap or -math.sqrt(float(shapely.intersection(one, other).area))


def held_in_plan(held: BaseGeometry, sizes: FittedSizes) -> Check:
    """Walls and partition stop the held cells from sliding any way in the plan."""
    stops = shapely.union_all([box(rect) for rect in sizes.stops])
    standing = standing_shape(sizes).union(stops)
    plays = {
        side.value: play_mm(held, standing, (round(x), round(y)))
        for side, (x, y) in OUTWARD.items()
    }
    worst = max(plays, key=lambda name: plays[name])
    return Check(
        id="core_held", about="play of the cell block in the tub", holds=plays[worst] <= HOLD_MM,
        value=plays[worst], limit=HOLD_MM, unit="mm", source=PRACTICE, at_least=False,
        where=f"towards {worst}", remedy="a smaller enclosure.side_gap_mm",
    )  # fmt: skip


def partition_closed(held: BaseGeometry, sizes: FittedSizes) -> Check:
    """No dry room opens to the cells but through openings and notches that are told."""
    inner = loop_polygon(sizes.shell.inner.loop)
    rooms = shapely.get_parts(inner.difference(partition_shape(sizes)))
    wet = [room for room in rooms if room.intersects(held)]
    leaking = [
        room.name
        for room in sizes.shell.rooms
        if room.is_dry and any(one.intersection(room.plan).area > FINE_MM for one in wet)
    ]
    return Check(
        id="partition_closed", about="dry rooms that open to the cells beside the partition",
        holds=not leaking, value=float(len(leaking)), limit=0.0, unit="", source="geometry",
        at_least=False, where=", ".join(leaking),
        remedy="a larger enclosure.side_gap_mm, or the room elsewhere",
    )  # fmt: skip


def least_radius(pack: Pack, sizes: FittedSizes) -> Check:
    """No corner or hollow of walls and lid is rounder than the nozzle draws."""
    shell = sizes.shell
    loops = (shell.inner.loop, shell.outer, shell.lip_inner, shell.lip_outer)
    least = min(one.radius_mm for loop in loops for one in loop if isinstance(one, Arc))
    limit = pack.printer.nozzle_mm
    return Check(
        id="enclosure_radius", about="least radius of the walls' and the lid's corners and hollows",
        holds=least >= limit, value=least, limit=limit, unit="mm", source="printer.nozzle_mm",
        remedy="a smaller printer.nozzle_mm, or a thinner enclosure.wall_mm",
    )  # fmt: skip


def gas_away(sizes: FittedSizes) -> Check:
    """Gas leaves on a side without a cable outlet."""
    outlets = [hole.purpose for hole in sizes.holes if hole.side is sizes.gas_side]
    return Check(
        id="gas_away", about="cable outlets on the side where gas leaves",
        holds=not outlets and sizes.gas_side is not None, value=float(len(outlets)), limit=0.0,
        unit="", source=PRACTICE, at_least=False,
        where=", ".join(outlets) if sizes.gas_side else "no side for gas",
        remedy="leads.side away from the longest side without rooms",
    )  # fmt: skip
