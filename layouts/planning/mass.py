"""What the pack weighs: cells, strips, printed parts, brackets of sheet metal."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from layouts.formats import materials
from layouts.pack import Pack
from layouts.parts.part import Part
from layouts.strips.joining import Interconnect

__all__ = ["Mass", "mass_of", "part_mass_g", "parts_mass", "printed_mass_g"]

# Density of strips, g/cm3. Nickel: a maker's sheet of nickel wire. Copper: what IEC 60028 gives a
# metre of a gram (0.15328 ohm g/m2) over its resistivity (1.7241e-8 ohm m), both as tabulated in a
# handbook of power engineering. Steel, aluminium: handbook values, from memory.
STRIP_DENSITY_G_CM3 = {
    "nickel": 8.9,
    "high_purity_nickel": 8.9,
    "copper": 8.89,
    "steel": 7.85,
    "aluminium": 2.7,
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Mass:
    """Grams, printed parts taken as solid: an upper bound of what infill leaves."""

    cells_g: float
    strips_g: float
    printed_g: float
    sheet_metal_g: float = 0.0

    @property
    def total_g(self) -> float:
        """Sum; wires, BMS, screws and inserts are not in it."""
        return self.cells_g + self.strips_g + self.printed_g + self.sheet_metal_g


def printed_mass_g(pack: Pack, volume_mm3: float) -> float:
    """Mass of a printed part at full infill."""
    return materials()[pack.printer.material].density_g_cm3 * volume_mm3 / 1000.0


def part_mass_g(pack: Pack, part: Part, volume_mm3: float) -> float:
    """One copy of a part of this volume: printed at full infill, or cut from sheet metal."""
    return printed_mass_g(pack, volume_mm3) if part.sheet is None else part.sheet.mass_g


def parts_mass(parts: Iterable[Part]) -> tuple[list[float], float]:
    """Volumes of the printed parts as drawn [mm3] and mass of those of sheet metal by their flat
    patterns [g], all copies counted."""
    volumes, metal_g = [], 0.0
    for part in parts:
        if part.sheet is None:
            volumes.append(part.drawing.volume_mm3() * len(part.placed))
        else:
            metal_g += part.sheet.mass_g * len(part.placed)
    return volumes, metal_g


def mass_of(
    pack: Pack,
    interconnect: Interconnect,
    volumes_mm3: Iterable[float],
    *,
    sheet_metal_g: float = 0.0,
) -> Mass:
    """Mass of the pack from the volumes of all printed parts, copies counted, and from that of its
    brackets of sheet metal."""
    strips_mm3 = bus_mm3 = 0.0
    for strip in interconnect.strips:
        face_mm2 = strip.width_mm * float(np.hypot(*np.subtract(strip.end_mm, strip.start_mm)))
        strips_mm3 += face_mm2 * strip.thickness_mm * strip.layers
        bus_mm3 += face_mm2 * strip.bus_mm
    plates_g = sum(
        sheet.area * layer.thickness_mm / 1000.0 * STRIP_DENSITY_G_CM3[layer.material]
        for plate in interconnect.plates
        for layer, sheet in zip(plate.layers, plate.sheets, strict=True)
    )
    for plate in interconnect.plates:
        if plate.bar is not None:
            bus_mm3 += sum(one.area for one in plate.bar.flat) * plate.bar.thickness_mm
    return Mass(
        cells_g=pack.series * pack.parallel * pack.cell.mass_g,
        strips_g=strips_mm3 / 1000.0 * STRIP_DENSITY_G_CM3[pack.strip.material]
        + plates_g
        + bus_mm3 / 1000.0 * STRIP_DENSITY_G_CM3["copper"],
        printed_g=sum(printed_mass_g(pack, volume) for volume in volumes_mm3),
        sheet_metal_g=sheet_metal_g,
    )
