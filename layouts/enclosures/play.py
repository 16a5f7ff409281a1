"""How far the held cells can slide before they meet what stands round them."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.parts.shell import shifted

__all__ = ["DIRECTIONS", "FIT_MM", "HOLD_MM", "play_mm"]

# Both common practice, no source.
FIT_MM = 0.3  # between the cell block's outline and what locates it
HOLD_MM = 1.6  # the cell block must not be free to move farther than this before it is held

DIRECTIONS = {"+x": (1, 0), "-x": (-1, 0), "+y": (0, 1), "-y": (0, -1)}


def play_mm(cell_block: BaseGeometry, standing: BaseGeometry, direction: tuple[int, int]) -> float:
    """How far the cell block can slide one way before it meets what stands round it; 5 at most."""
    low, high = 0.0, 5.0
    if not shapely.intersects(
        shifted(cell_block, direction[0] * high, direction[1] * high), standing
    ):
        return high
    while high - low > 0.01:
        middle = (low + high) / 2
        moved = shifted(cell_block, direction[0] * middle, direction[1] * middle)
        if shapely.intersects(moved, standing):
            high = middle
        else:
            low = middle
    return high
