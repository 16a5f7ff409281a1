"""Cable glands: their sizes, and an outlet in its place with the bend of its wire."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layouts.errors import PlanError
from layouts.parts.convex import ConvexPiece, bar, bend

__all__ = ["BENDS", "BEND_RATIO", "GLANDS", "CableOutlet", "GlandSize", "gland_for"]

BEND_RATIO = 4.0  # bend radius of a wire, in outside diameters; common practice, no source
# Directions in which the leads may bend behind their glands, in the pack's coordinates
BENDS = {
    "+z": (0.0, 0.0, 1.0),
    "-z": (0.0, 0.0, -1.0),
    "+y": (0.0, 1.0, 0.0),
    "-y": (0.0, -1.0, 0.0),
}


class GlandSize(NamedTuple):
    """A plastic cable gland [mm].

    ``keep_radius_mm``: kept free round its axis for nut and cap. ``wire_mm``: largest outside
    of the wire. ``long_mm``: how far it stands out of the wall with its cap.
    """

    size: str
    hole_radius_mm: float
    keep_radius_mm: float
    wire_mm: float
    long_mm: float


# common practice, no source; the lengths from memory
GLANDS = (
    GlandSize("M12", 6.1, 9.5, 6.0, 21.0),
    GlandSize("M16", 8.1, 12.7, 9.0, 25.0),
    GlandSize("M20", 10.1, 15.6, 12.0, 27.0),
    GlandSize("M25", 12.6, 19.0, 16.0, 31.0),
    GlandSize("M32", 16.1, 24.0, 21.0, 39.0),
)


def gland_for(wire_outside_mm: float) -> GlandSize:
    """The smallest gland for a wire. Raises PlanError when no gland takes it."""
    for gland in GLANDS:
        if wire_outside_mm <= gland.wire_mm:
            return gland
    most = GLANDS[-1].wire_mm
    raise PlanError(
        field="leads.outside_mm",
        value=f"{wire_outside_mm:g}",
        why=f"is above {most:g}, the largest cable diameter of the known cable glands",
        remedy=f"use a wire of at most {most:g} over its insulation",
    )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CableOutlet:
    """A cable gland in its place, in the pack's coordinates.

    ``at_mm`` (3,): its axis in the wall's outer face; ``out`` (3,): unit, away from the wall.
    ``wall_mm``: the wall that its hole goes through. ``wire_mm``: outside diameter of its wire.
    """

    gland: GlandSize
    purpose: str
    at_mm: NDArray[np.float64]
    out: NDArray[np.float64]
    wall_mm: float
    wire_mm: float

    @property
    def bend_radius_mm(self) -> float:
        """Radius of the wire's bend on its inner side, as cable makers state it (from memory)."""
        return BEND_RATIO * self.wire_mm

    @property
    def bend_middle_radius_mm(self) -> float:
        """Radius of the bend to the middle of the wire."""
        return self.bend_radius_mm + self.wire_mm / 2

    @property
    def reach_mm(self) -> float:
        """How far before the wall the wire needs space."""
        return self.gland.long_mm + self.bend_middle_radius_mm + self.wire_mm / 2

    def pieces(self, towards: tuple[float, float, float]) -> Iterator[ConvexPiece]:
        """The gland with its cap, then its wire turned by a quarter right behind it."""
        end = (self.at_mm + self.gland.long_mm * self.out).tolist()
        yield bar(self.at_mm.tolist(), end, self.gland.keep_radius_mm)
        yield from bend(
            end,
            self.out.tolist(),
            towards,
            wire_mm=self.wire_mm,
            inside_mm=self.bend_radius_mm,
        )
