"""Estimated outer sizes round a field of cells, and by how much they exceed the space.

How large tub, lid and brackets come out is known to the form of the enclosure alone: it is
handed in as an ``Estimate``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from layouts.pack import Pack, Side

__all__ = ["LONE_POSTS_MM", "Envelope", "Estimate", "cell_block_mm", "overshoot_ratio"]

LONE_POSTS_MM = (3.5, 6.2)  # posts round the ends of rows of one cell out, both sides (x, y)

Plan = tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class Envelope:
    """Estimated outer sizes (x, y) of the parts; ``outside_mm`` (x, y, z) with brackets."""

    cell_block_mm: Plan
    tub_mm: Plan
    lid_mm: Plan
    outside_mm: tuple[float, float, float]


# pack, outer sizes (x, y) of its holder -> outer sizes of all
Estimate = Callable[[Pack, Plan], Envelope]


def cell_block_mm(pack: Pack, centres_mm: Plan) -> Plan:
    """Outer sizes of a holder whose cell centres span ``centres_mm``."""
    rim = pack.pocket_mm + 2 * pack.holder.wall_mm
    posts = LONE_POSTS_MM if pack.parallel == 1 else (0.0, 0.0)
    return centres_mm[0] + rim + posts[0], centres_mm[1] + rim + posts[1]


def overshoot_ratio(sizes: Envelope, pack: Pack, *, turned: bool) -> float:
    """By how much of its side the space is exceeded, worst axis; 0 where it fits.

    ``turned``: the pack stands a quarter turn from the direction that its leads require."""
    if pack.space is None:
        return 0.0
    across = pack.leads.side in (Side.PLUS_Y, Side.MINUS_Y)
    x, y, z = sizes.outside_mm
    if across != turned:
        x, y = y, x
    box = pack.space.box_mm
    return max(0.0, *(size / room - 1 for size, room in zip((x, y, z), box, strict=True)))
