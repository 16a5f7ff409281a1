"""Room beside the cells for the protection board, the ends of the strips and the wires."""

from __future__ import annotations

from layouts.pack import Pack

__all__ = ["bms_room_mm", "lead_bend_room_mm"]

BOARD_PLAY_MM = 3.0  # beside the board's thickness
# strips of the main leads end 12 past the cell block and stay 2 clear of the board
LEAD_STRIP_MM = 14.0
BEND_RATIO = 4.0  # bend radius of a wire, in outside diameters; common practice, no source
NUT_MM = 10.0  # a gland's thread and nut behind the wall, in which a wire is straight; from memory
# from the held cells to the middle of a lug's screw; the lead goes up beside it at least so far off
LUG_OFF_MM = 9.0
WIRE_OFF_MM = 1.1  # a wire's paper, play and gap beside the held cells


def lead_bend_room_mm(pack: Pack) -> float:
    """From the held cells to the gland wall: one bend radius of a main lead; where every wire has
    a way, a lead upright beside the cells, a quarter turn of its middle, the gland's nut."""
    outside = pack.leads.outside_mm
    if not pack.enclosure.wire_ways:
        return BEND_RATIO * outside
    upright = max(LUG_OFF_MM, outside / 2 + WIRE_OFF_MM)
    return upright + (BEND_RATIO + 0.5) * outside + NUT_MM


def bms_room_mm(pack: Pack) -> float:
    """Compartment on +x for the board on edge, the strip ends and the bends of the leads."""
    beside_strips = pack.bms.board_mm[2] + BOARD_PLAY_MM + LEAD_STRIP_MM
    return max(beside_strips, lead_bend_room_mm(pack))
