"""A round bore as plain values; cutting it is for the kernel and the mesh library."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["PAST_WALL_MM", "Bore", "through"]

# A bore through a wall ends this far beyond it, so that no face ends flush with another
PAST_WALL_MM = 0.5


@dataclass(frozen=True, slots=True)
class Bore:
    """A round bore: from ``start`` [mm], on the surface, ``depth_mm`` along ``direction``.

    ``direction`` has length 1. The tool begins 0.05 mm before the start; there must be air.
    ``past_mm``: how much of the depth runs in air, behind the wall that it goes through.
    """

    start: tuple[float, float, float]
    direction: tuple[float, float, float]
    radius_mm: float
    depth_mm: float
    past_mm: float = 0.0

    @property
    def volume_mm3(self) -> float:
        """Material that it takes from between flat faces square to it [mm3]."""
        return math.pi * self.radius_mm**2 * (self.depth_mm - self.past_mm)


def through(
    start: tuple[float, float, float],
    direction: tuple[float, float, float],
    radius_mm: float,
    wall_mm: float,
) -> Bore:
    """A bore through a wall with flat faces."""
    return Bore(start, direction, radius_mm, wall_mm + PAST_WALL_MM, PAST_WALL_MM)
