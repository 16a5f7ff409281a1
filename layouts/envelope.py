"""Outer sizes of holder, tub and lid for a field of cells, before anything is drawn.

An estimate, used to prefer fields that fit the printer's bed and the space. It never
decides a part's size: the parts are measured when they are made.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from layouts.pack import Pack, Printer, Side

BED_MARGIN_MM = 1.0  # each side, so that no line is drawn on the bed's edge; common practice, no source
POSTS_Y_MM = 3.0  # posts in the side notches round the outline out, both sides together
BOARD_PLAY_MM = 3.0  # beside the board's thickness
WIRES_MM = 10.0  # wires beside the board; common practice, no source
LUG_OUT_MM = 10.0  # pad that takes a bracket's screws, on the +x and the -x wall
PILASTER_OUT_MM = 2.0  # lid bosses round the +y and the -y wall out
SKIRT_OUT_MM = 5.0  # the lid's splash skirt: 3 of gap and 2 of skirt
BRACKET_OUT_MM = 26.0  # upright leg 6 and a foot with one row of screws

Plan = tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class Envelope:
    """Estimated outer sizes (x, y) of the parts; ``outside_mm`` (x, y, z) with brackets."""

    core_mm: Plan
    tub_mm: Plan
    lid_mm: Plan
    outside_mm: tuple[float, float, float]


def bms_room_mm(pack: Pack) -> float:
    """Room on +x for the board on edge and its wires."""
    return pack.bms.board_mm[2] + BOARD_PLAY_MM + WIRES_MM


def envelope(pack: Pack, *, centres_mm: Plan) -> Envelope:
    """Outer sizes for a field whose cell centres span ``centres_mm`` (x, y)."""
    case, holder = pack.enclosure, pack.holder
    rim = pack.pocket_mm + 2 * holder.wall_mm
    core_x, core_y = centres_mm[0] + rim, centres_mm[1] + rim + POSTS_Y_MM
    box_x = core_x + 2 * case.side_gap_mm + bms_room_mm(pack) + 2 * case.wall_mm
    cavity_y = max(core_y + 2 * case.side_gap_mm, pack.bms.board_mm[0] + BOARD_PLAY_MM)
    box_y = cavity_y + 2 * case.wall_mm + 2 * PILASTER_OUT_MM
    stack = pack.lip_to_lip_mm + 2 * holder.lip_mm + 2 * case.gas_gap_mm
    high = max(stack, pack.bms.board_mm[1] + BOARD_PLAY_MM) + case.floor_mm + case.lid_mm
    bracket = BRACKET_OUT_MM + max((abs(v) for _, v in pack.mount.holes_mm), default=0.0)
    return Envelope(
        core_mm=(core_x, core_y),
        tub_mm=(box_x + 2 * LUG_OUT_MM, box_y),
        lid_mm=(box_x + 2 * SKIRT_OUT_MM, box_y),
        outside_mm=(box_x + 2 * (LUG_OUT_MM + bracket), box_y, high),
    )


def usable_bed_mm(printer: Printer) -> Plan:
    """The bed less its margin."""
    return printer.bed_mm[0] - 2 * BED_MARGIN_MM, printer.bed_mm[1] - 2 * BED_MARGIN_MM


def pieces(plan_mm: Plan, printer: Printer) -> int:
    """How many pieces a part of this plan needs at least; 1 where it fits uncut."""
    bed = usable_bed_mm(printer)
    return min(
        ceil(plan_mm[0] / across) * ceil(plan_mm[1] / along)
        for across, along in (bed, bed[::-1])
    )


def overshoot_ratio(sizes: Envelope, pack: Pack, *, turned: bool) -> float:
    """By how much of its side the space is exceeded, worst axis; 0 where it fits.

    ``turned``: the pack stands a quarter turn from the way its leads ask for.
    """
    if pack.space is None:
        return 0.0
    across = pack.leads.side in (Side.PLUS_Y, Side.MINUS_Y)
    x, y, z = sizes.outside_mm
    if across != turned:
        x, y = y, x
    box = pack.space.box_mm
    return max(0.0, *(size / room - 1 for size, room in zip((x, y, z), box, strict=True)))
