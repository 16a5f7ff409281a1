"""Cable glands: their sizes, and which takes a wire."""

from __future__ import annotations

from typing import NamedTuple

from layouts.errors import PlanError

__all__ = ["GLANDS", "GlandSize", "gland_for"]


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
