"""The held cells' outline as a shape, for gaps and collisions.

Arcs become chords of 0.02 rad, whose error at the radii met here (below 20 mm) is under
0.001 mm: far below any gap that is judged with them.
"""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.holders.outline import Outline, outline_points_mm

__all__ = ["CHORD_RAD", "cell_block_shape"]

CHORD_RAD = 0.02


def cell_block_shape(outline: Outline) -> BaseGeometry:
    """The held cells' outline as a fine polygon."""
    shape = shapely.Polygon(outline_points_mm(outline, CHORD_RAD))
    return shape if shape.is_valid else shape.buffer(0)
