"""Outer sizes of holder, tub and lid for a field of cells, before anything is drawn.

An estimate, used to prefer fields that fit the printer's bed and the space. It never
decides a part's size: the parts are measured when they are made. The constants follow the
enclosure that ``layouts.enclosures.box.design`` designs.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from layouts.brackets.registry import kind_of
from layouts.pack import Lattice, Pack, Printer, Side

BED_MARGIN_MM = 1.0  # each side: no line on the bed's very edge; common practice, no source
LONE_POSTS_MM = (3.5, 6.2)  # posts round the ends of rows of one cell out, both sides (x, y)
BOARD_PLAY_MM = 3.0  # beside the board's thickness
LEAD_STRIP_MM = 14.0  # strips of the main leads end 12 past the core and stay 2 clear of the board
BEND_RATIO = 4.0  # bend radius of a wire, in outside diameters; common practice, no source
LOW_BOARD_MM = 26.6  # beside the board along y: guides and corner columns
HIGH_BOARD_MM = 71.0  # the same where two M16 glands must stand beside the board, not above it
ABOVE_BOARD_MM = 42.9  # of the stack's height: skirts, and a gland with its nut above the board
SLOTS_ABOVE_MM = 9.0  # gas slots stand above the board
LUG_OUT_MM = 10.0  # pad that takes a bracket's screws, on the +x and the -x wall
PILASTER_OUT_MM = 1.2  # lid bosses in a honeycomb's side hollows round the +-y walls out
LID_OUT_MM = 12.7  # skirts, or pilasters beside them, both sides together

Plan = tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class Envelope:
    """Estimated outer sizes (x, y) of the parts; ``outside_mm`` (x, y, z) with brackets."""

    core_mm: Plan
    tub_mm: Plan
    lid_mm: Plan
    outside_mm: tuple[float, float, float]


def bms_room_mm(pack: Pack) -> float:
    """Room on +x for the board on edge, the ends of the strips and the wires' bends."""
    beside_strips = pack.bms.board_mm[2] + BOARD_PLAY_MM + LEAD_STRIP_MM
    return max(beside_strips, BEND_RATIO * pack.leads.outside_mm)


def core_mm(pack: Pack, centres_mm: Plan) -> Plan:
    """Outer sizes of a holder whose cell centres span ``centres_mm``."""
    rim = pack.pocket_mm + 2 * pack.holder.wall_mm
    posts = LONE_POSTS_MM if pack.parallel == 1 else (0.0, 0.0)
    return centres_mm[0] + rim + posts[0], centres_mm[1] + rim + posts[1]


def envelope(pack: Pack, *, centres_mm: Plan) -> Envelope:
    """Outer sizes for a field whose cell centres span ``centres_mm`` (x, y)."""
    case, board = pack.enclosure, pack.bms.board_mm
    core_x, core_y = core_mm(pack, centres_mm)
    box_x = core_x + case.side_gap_mm + bms_room_mm(pack) + 2 * case.wall_mm
    stack = pack.lip_to_lip_mm + 2 * pack.holder.lip_mm + 2 * case.gas_gap_mm
    beside = LOW_BOARD_MM if board[1] + ABOVE_BOARD_MM <= stack else HIGH_BOARD_MM
    box_y = max(core_y + 2 * case.side_gap_mm, board[0] + beside) + 2 * case.wall_mm
    if pack.lattice is Lattice.HONEYCOMB:
        box_y += 2 * PILASTER_OUT_MM
    high = max(stack, case.gas_gap_mm + board[1] + SLOTS_ABOVE_MM) + case.floor_mm + case.lid_mm
    bracket, stand = kind_of(pack).reach_mm(pack)
    high += stand
    return Envelope(
        core_mm=(core_x, core_y),
        tub_mm=(box_x + 2 * LUG_OUT_MM, box_y),
        lid_mm=(box_x + LID_OUT_MM, box_y),
        outside_mm=(box_x + 2 * (LUG_OUT_MM + bracket), box_y, high),
    )


def usable_bed_mm(printer: Printer) -> Plan:
    """The bed less its margin."""
    return printer.bed_mm[0] - 2 * BED_MARGIN_MM, printer.bed_mm[1] - 2 * BED_MARGIN_MM


def pieces(plan_mm: Plan, printer: Printer) -> int:
    """How many pieces a part of this plan needs at least; 1 where it fits uncut."""
    bed = usable_bed_mm(printer)
    return min(
        ceil(plan_mm[0] / across) * ceil(plan_mm[1] / along) for across, along in (bed, bed[::-1])
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
