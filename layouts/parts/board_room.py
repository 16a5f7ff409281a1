"""Room beside the cells for the protection board, the ends of the strips and the wires."""

from __future__ import annotations

from layouts.pack import Pack

__all__ = ["bms_room_mm"]

BOARD_PLAY_MM = 3.0  # beside the board's thickness
# strips of the main leads end 12 past the cell block and stay 2 clear of the board
LEAD_STRIP_MM = 14.0
BEND_RATIO = 4.0  # bend radius of a wire, in outside diameters; common practice, no source


def bms_room_mm(pack: Pack) -> float:
    """Compartment on +x for the board on edge, the strip ends and the bends of the leads."""
    beside_strips = pack.bms.board_mm[2] + BOARD_PLAY_MM + LEAD_STRIP_MM
    return max(beside_strips, BEND_RATIO * pack.leads.outside_mm)
