"""Outer sizes of holder, tub and lid for a field of cells, before anything is drawn.

An estimate, used to prefer fields that fit the printer's bed and the space. It never
decides a part's size: the parts are measured when they are made. The constants follow the
enclosure that ``layouts.enclosures.box.design`` designs.
"""

from __future__ import annotations

from layouts.brackets.registry import kind_of
from layouts.cells.envelope import Envelope
from layouts.enclosures.registry import form_of
from layouts.pack import Lattice, Pack, Side
from layouts.parts.board_room import bms_room_mm
from layouts.spaces.space import Space

__all__ = ["ENVELOPE_OFF_MM", "enclosed_least_mm2", "envelope", "miss_mm"]

# Envelopes were up to 5.6 mm larger than the planned outside in trials of 80 packs (and up to
# 24 mm smaller): what misses by more than this is not looked at any further
ENVELOPE_OFF_MM = 8.0

LOW_BOARD_MM = 26.6  # beside the board along y: guides and corner bosses
HIGH_BOARD_MM = 71.0  # the same where two M16 glands must stand beside the board, not above it
# of the stack's height: drip skirts, and a gland with its nut above the board
ABOVE_BOARD_MM = 42.9
SLOTS_ABOVE_MM = 9.0  # gas slots stand above the board
MOUNTING_PAD_OUT_MM = 10.0  # pad that takes a bracket's screws, on the +x and the -x wall
BOSS_RIB_OUT_MM = 1.2  # lid bosses in a honeycomb's side hollows round the +-y walls out
LID_OUT_MM = 12.7  # drip skirts, or boss ribs beside them, both sides together


def envelope(pack: Pack, cell_block_mm: tuple[float, float]) -> Envelope:
    """Outer sizes round a holder of these outer sizes (x, y)."""
    case, board = pack.enclosure, pack.bms.board_mm
    cell_block_x, cell_block_y = cell_block_mm
    box_x = cell_block_x + case.side_gap_mm + bms_room_mm(pack) + 2 * case.wall_mm
    stack = pack.lip_to_lip_mm + 2 * pack.holder.lip_mm + 2 * case.gas_gap_mm
    beside = LOW_BOARD_MM if board[1] + ABOVE_BOARD_MM <= stack else HIGH_BOARD_MM
    box_y = max(cell_block_y + 2 * case.side_gap_mm, board[0] + beside) + 2 * case.wall_mm
    if pack.lattice is Lattice.HONEYCOMB:
        box_y += 2 * BOSS_RIB_OUT_MM
    high = max(stack, case.gas_gap_mm + board[1] + SLOTS_ABOVE_MM) + case.floor_mm + case.lid_mm
    bracket, stand = kind_of(pack).reach_mm(pack)
    high += stand
    return Envelope(
        cell_block_mm=(cell_block_x, cell_block_y),
        tub_mm=(box_x + 2 * MOUNTING_PAD_OUT_MM, box_y),
        lid_mm=(box_x + LID_OUT_MM, box_y),
        outside_mm=(box_x + 2 * (MOUNTING_PAD_OUT_MM + bracket), box_y, high),
    )


def enclosed_least_mm2(pack: Pack) -> float:
    """Plan area that the pack's enclosure does not go below: cells in a wide lattice, and rooms."""
    form = form_of(pack)
    rooms_mm2 = 0.0 if form is None else form.rooms_least_mm2(pack)
    honeycomb = pack.lattice is Lattice.HONEYCOMB
    site_mm2 = pack.pitch_mm**2 * (3**0.5 / 2 if honeycomb else 1.0)
    return pack.series * pack.parallel * site_mm2 + rooms_mm2


def miss_mm(size_mm: tuple[float, float, float], space: Space, side: Side) -> float:
    """By how much the worst axis of the space's box is exceeded; negative where none is.

    ``size_mm``: the pack's outside (x, y, z); ``side``: where its leads leave, in the space.
    """
    x, y, z = size_mm
    if side in (Side.PLUS_Y, Side.MINUS_Y):
        x, y = y, x
    return max(size - room for size, room in zip((x, y, z), space.box_mm, strict=True))
