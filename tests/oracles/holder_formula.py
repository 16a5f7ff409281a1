"""A holder's volume from sizes alone: closed areas times heights, nothing read off the body.

V = sum over the heights of (plan - what is open there), with open areas as unions of straight
strips, discs and what they share (``layouts.slabs.areas``), plus cones of the lead-in, posts,
and less the signs by the figures' own formulas.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.holders.holder import HolderTile
from layouts.holders.levels import hexagon_mm, slot_half_mm
from layouts.holders.polarity_marks import PlacedMarks, place_signs, text_area_mm2
from layouts.holders.tile_plan import (
    GROOVE_DEEP_MM,
    LipPiece,
    lip_pieces,
    open_shape,
    plan_area_mm2,
)
from layouts.pack import Face
from layouts.slabs.areas import (
    polygon_disc_area_mm2,
    polygon_discs_area_mm2,
    union_of_quads,
)

__all__ = ["holder_formula_mm3"]


def holder_formula_mm3(
    tile: HolderTile,
    *,
    pieces: tuple[LipPiece, ...] | None = None,
    placed: PlacedMarks | None = None,
) -> float:
    """Volume of a holder tile [mm3] by closed formulas, exact to rounding.

    ``pieces``, ``placed``: which pieces of lip are dropped and which texts stand where, worked
    out if not given. Holds for pockets, posts and keys clear of each other, as they are laid.
    """
    pieces = lip_pieces(tile) if pieces is None else pieces
    placed = place_signs(tile, pieces) if placed is None else placed
    count = len(tile.xy_mm)
    window, pocket = tile.window_mm / 2, tile.pocket_mm / 2
    plus = np.asarray(tile.positive_end, dtype=bool)
    top = tile.lip_mm + tile.depth_mm
    ways = open_shape(tile, pieces)

    volume = plan_area_mm2(tile) * top
    # the lip: windows and channels; over a ring seat whole pockets of positive ends
    strips = plan_area_mm2(tile, ways)
    rims = np.full(count, window)
    volume -= _opened_mm2(tile, ways, strips, rims) * (tile.lip_mm - tile.seat_mm)
    rims = np.where(plus, pocket, window)
    volume -= _opened_mm2(tile, ways, strips, rims) * tile.seat_mm
    # pockets, their lead-in as frustums
    lead_deep = tile.lead_in_deep_mm if tile.lead_in_mm > 0 else 0.0
    mouth = pocket + tile.lead_in_mm
    volume -= count * math.pi * pocket**2 * (tile.depth_mm - lead_deep)
    volume -= count * math.pi * lead_deep * (pocket**2 + pocket * mouth + mouth**2) / 3
    # webs' floors behind the can ends, bars below them
    rims = np.full(count, pocket)
    volume -= (_opened_mm2(tile, ways, strips, rims) - _discs_mm2(rims)) * tile.web_recess_mm
    bridged = shapely.union_all(
        [union_of_quads(tile.bars), *(piece.shape for piece in pieces if piece.dropped)]
    )
    over = shapely.difference(ways, bridged)
    strips = plan_area_mm2(tile, over)
    volume -= (_opened_mm2(tile, over, strips, rims) - _discs_mm2(rims)) * tile.bar_mm
    if len(tile.grooves):
        volume -= plan_area_mm2(tile, union_of_quads(tile.grooves)) * GROOVE_DEEP_MM
    volume += _posts_mm3(tile, top)
    for text in placed.texts:
        volume -= text_area_mm2(text.says, text.pen) * tile.sign_deep_mm
    return float(volume)


def _discs_mm2(radii: NDArray[np.float64]) -> float:
    """Area of discs that lie apart."""
    return math.pi * float((radii**2).sum())


def _opened_mm2(
    tile: HolderTile, ways: BaseGeometry, ways_mm2: float, radii: NDArray[np.float64]
) -> float:
    """Area of straight-edged ways (``ways_mm2`` within the plan) and a disc a cell, together."""
    shared = polygon_discs_area_mm2(ways, tile.xy_mm, radii)
    return ways_mm2 + _discs_mm2(radii) - float(shared.sum())


def _posts_mm3(tile: HolderTile, top: float) -> float:
    """What the posts add above the inner face, less their screw holes and recesses [mm3]."""
    if not tile.posts:
        return 0.0
    end = max(tile.post_high_mm, top)
    volume = sum(math.pi * post.radius_mm**2 * (end - top) for post in tile.posts)
    hole = tile.screw_hole_diameter_mm / 2
    if hole <= 0:
        return volume
    each = math.pi * hole**2 * end
    deep = tile.recess_deep_mm
    if deep > 0 and tile.recess_mm > 0:
        half, reach = slot_half_mm(tile), tile.recess_mm
        slot = shapely.box(-half, -reach, half, reach)
        if tile.face is Face.UPPER:
            recess = math.pi * tile.recess_mm**2 / 4
            slotted = polygon_disc_area_mm2(slot, (0.0, 0.0), tile.recess_mm / 2)
        else:
            recess = math.sqrt(3) / 2 * tile.recess_mm**2
            slotted = float(
                shapely.intersection(slot, shapely.Polygon(hexagon_mm(tile.recess_mm))).area
            )
        square = (2 * half) ** 2
        each += recess * deep + (slotted + square) * tile.layer_mm
        each -= math.pi * hole**2 * (deep + 2 * tile.layer_mm)
    return volume - len(tile.posts) * each
