"""Where new holes may be drilled in a plate of the frame."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.brackets.holding import EDGE_FREE_MM
from layouts.formats import screws
from layouts.frame_spec import FramePlate

__all__ = ["free_to_drill"]


def free_to_drill(plate: FramePlate) -> BaseGeometry:
    """Where the middle of a new hole may lie, in the coordinates of the plate's outline: off its
    edge, and as far off the edges of the holes that are there."""
    there = [
        shapely.Point(hole.at_mm).buffer(
            screws()[hole.screw].clearance_diameter_mm / 2.0 + EDGE_FREE_MM
        )
        for hole in plate.holes
    ]
    inner = shapely.Polygon(plate.outline_mm).buffer(-EDGE_FREE_MM)
    return inner.difference(shapely.union_all(there))
