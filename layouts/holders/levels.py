"""A holder's levels: at which heights its section changes, and what is open between them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.errors import PlanError
from layouts.holders.holder import HolderTile
from layouts.holders.tile_plan import GROOVE_DEEP_MM
from layouts.parts.tie_screw import check_recess

__all__ = ["HolderHeights", "hexagon_mm", "holder_heights", "slot_half_mm"]

SLOT_PLAY_MM = 0.05  # a slot's side stays clear of the round hole above it


@dataclass(frozen=True, kw_only=True, slots=True)
class HolderHeights:
    """Heights above a holder's outer face [mm] at which its features begin or end.

    ``seat_mm``: ring seats of positive ends begin. ``web_mm``: floors of the webs behind the can
    ends; ``bar_mm``: end of the channels and of the bars in them. ``mouth_mm``: the lead-in
    begins; ``groove_mm``: grooves for barriers begin; ``top_mm``: rim of the pockets.
    ``recess_mm``, ``slot_mm``, ``square_mm``: ends of the screws' recess and of its two bridged
    layers, 0 without. ``end_mm``: free ends of the posts.
    """

    seat_mm: float
    web_mm: float
    bar_mm: float
    mouth_mm: float
    groove_mm: float
    top_mm: float
    recess_mm: float
    slot_mm: float
    square_mm: float
    end_mm: float


def slot_half_mm(tile: HolderTile) -> float:
    """Half width of the slot and the square that carry the first layers over a recess [mm]."""
    return tile.screw_hole_diameter_mm / 2 + SLOT_PLAY_MM


def hexagon_mm(across_mm: float) -> NDArray[np.float64]:
    """(6, 2) corners of a hexagon that wide across flats, counter-clockwise, a corner on +y."""
    angles = math.pi / 6 + math.pi / 3 * np.arange(6)
    return np.asarray(across_mm / math.sqrt(3) * np.c_[np.cos(angles), np.sin(angles)])


def holder_heights(tile: HolderTile) -> HolderHeights:
    """Heights of a holder, checked to stack.

    A recess's ceiling would hang in the air round the screw hole. So its first layer leaves a
    slot across the whole recess, the second a square, both bridged in straight lines, and only
    then the round hole follows.
    """
    top = tile.lip_mm + tile.depth_mm
    seat_mm = tile.lip_mm - tile.seat_mm
    floor = tile.lip_mm + tile.web_recess_mm
    bar = floor + tile.bar_mm
    mouth = top - tile.lead_in_deep_mm if tile.lead_in_mm > 0 else top
    groove = top - GROOVE_DEEP_MM if len(tile.grooves) else top
    recess = tile.recess_deep_mm if tile.posts and tile.recess_mm > 0 else 0.0
    layer = tile.layer_mm
    slot, square = (recess + layer, recess + 2 * layer) if recess > 0 else (0.0, 0.0)
    end = max(tile.post_high_mm, top) if tile.posts else top
    if not 0 < seat_mm <= tile.lip_mm <= floor <= bar < mouth <= top:
        raise PlanError(
            field="holder.depth_mm",
            value=f"{tile.depth_mm:g}",
            why=f"does not stack with lip {tile.lip_mm:g}, seat {tile.seat_mm:g}, floor "
            f"{tile.web_recess_mm:g}, bar {tile.bar_mm:g} and lead-in "
            f"{tile.lead_in_deep_mm:g} mm ({tile.name})",
            remedy="use a deeper pocket or a lower bar",
        )
    if recess > 0:
        check_recess(recess, depth_mm=tile.depth_mm, mouth_mm=mouth, layer_mm=layer)
    if groove < top and groove > mouth:
        raise ValueError(
            f"{tile.name}: lead-in {tile.lead_in_deep_mm:g} mm is deeper than the barrier's "
            f"groove, {GROOVE_DEEP_MM:g} mm; use a lead-in of {GROOVE_DEEP_MM:g} mm or less"
        )
    return HolderHeights(
        seat_mm=seat_mm,
        web_mm=floor,
        bar_mm=bar,
        mouth_mm=mouth,
        groove_mm=groove,
        top_mm=top,
        recess_mm=recess,
        slot_mm=slot,
        square_mm=square,
        end_mm=end,
    )
