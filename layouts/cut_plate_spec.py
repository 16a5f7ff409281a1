"""What the pack file asks of flat metal plates for a motor or a controller."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.formats import SheetMetal, sheet_metals

__all__ = ["CutPlate", "HoleCircle", "PlateHole", "PlateSlot"]

Pair = tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class HoleCircle:
    """Screw holes evenly round a middle; ``pilot_mm``: diameter of the hole in the middle that the
    machine's spigot goes into, 0: none. ``first_deg``: of the first hole, from +x."""

    at_mm: Pair
    diameter_mm: float
    holes: int
    screw: str
    pilot_mm: float = 0.0
    first_deg: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class PlateHole:
    """A screw hole."""

    at_mm: Pair
    screw: str


@dataclass(frozen=True, kw_only=True, slots=True)
class PlateSlot:
    """A slot round its middle, in which a screw travels along the belt or chain."""

    at_mm: Pair
    screw: str
    travel_mm: float
    along_deg: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class CutPlate:
    """A flat plate with round corners, all places from its lower left corner.

    ``metal``: a designation of the table of sheet metals. ``kerf_mm``: counted in its DXF."""

    name: str
    metal: str
    thickness_mm: float
    size_mm: Pair
    corner_mm: float
    circles: tuple[HoleCircle, ...] = ()
    holes: tuple[PlateHole, ...] = ()
    slots: tuple[PlateSlot, ...] = ()
    kerf_mm: float = 0.0

    @property
    def sheet_metal(self) -> SheetMetal:
        """Its metal."""
        return sheet_metals()[self.metal]
