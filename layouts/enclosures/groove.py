"""The groove of a gasket's cord and the flange that it lies in: sections, by the cord's diameter.

All ratios are from memory, no source: closed-cell sponge cord seals squeezed by a fifth to a third,
in a groove that it does not fill.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from layouts.pack import EnclosureSpec

__all__ = ["LAND_MM", "LEAST_LAND_MM", "Groove", "bend_radius_mm", "groove_of"]

SQUEEZE_RATIO = 0.23  # of the cord's diameter, where the lid lies on the flange
FILL_RATIO = 0.83  # of the groove's section that the cord takes
BEND_RATIO = 1.5  # inner bend radius over the cord's diameter
BENT_MOST_MM = 6.0  # the groove is drawn with no wider bends: its flange would grow too wide
LAND_MM = 1.9  # flange beyond the groove: screws stand outside of it
LEAST_LAND_MM = 1.2  # between groove and screws' holes: three lines of a 0.4 nozzle
SHARPEST_MM, NARROW_MM = 1.0, 5.0  # inner corners of rooms, and their width, at least
DIGITS = 1  # of the groove's sizes: tenths of a millimetre


@dataclass(frozen=True, kw_only=True, slots=True)
class Groove:
    """Section of groove and flange.

    ``deep_mm``, ``wide_mm``: of the groove; ``land_mm``: flange beyond it. ``flange_mm``: from the
    walls' inner face to the flange's outer edge beside cells; ``thick_mm``: of the flange at that
    edge. ``inner_radius_mm``: least inner radius of the groove's bends."""

    deep_mm: float
    wide_mm: float
    land_mm: float
    flange_mm: float
    thick_mm: float
    inner_radius_mm: float

    def round_room_mm(self, *, wall_mm: float, corner_radius_mm: float, narrow_mm: float) -> float:
        """From a room's sides out to the groove's inner edge, whose corners have the radius of its
        bends at least and lie outside of the wall's own (plane geometry) [mm]."""
        radius = max(self.inner_radius_mm, corner_radius_mm + wall_mm)
        by = radius - corner_radius_mm - (radius - corner_radius_mm - wall_mm) / math.sqrt(2.0)
        return max(by, radius - narrow_mm / 2)  # a narrow room has no such corners

    def reach_mm(self, wall_mm: float) -> float:
        """From the walls' inner face to the flange's outer edge, at most [mm]."""
        by = self.round_room_mm(wall_mm=wall_mm, corner_radius_mm=SHARPEST_MM, narrow_mm=NARROW_MM)
        return max(by, wall_mm) + self.wide_mm + self.land_mm


def groove_of(case: EnclosureSpec) -> Groove | None:
    """Of an enclosure; None where it has no gasket."""
    gasket = case.gasket
    if gasket is None:
        return None
    deep = round(gasket.cord_mm * (1.0 - SQUEEZE_RATIO), DIGITS)
    wide = round(math.pi / 4 * gasket.cord_mm**2 / (FILL_RATIO * deep), DIGITS)
    flange = gasket.flange_mm or round(case.wall_mm + wide + LAND_MM, DIGITS)
    return Groove(
        deep_mm=deep, wide_mm=wide, land_mm=flange - case.wall_mm - wide, flange_mm=flange,
        thick_mm=round(deep + FLOOR_MM, DIGITS),
        inner_radius_mm=min(bend_radius_mm(case), BENT_MOST_MM),
    )  # fmt: skip


FLOOR_MM = 1.7  # flange beneath the groove; the wall's thickness, common practice, no source


def bend_radius_mm(case: EnclosureSpec) -> float:
    """Least inner bend radius that the cord takes. There must be a gasket."""
    assert case.gasket is not None
    return case.gasket.bend_radius_mm or BEND_RATIO * case.gasket.cord_mm
