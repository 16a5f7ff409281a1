"""What the pack weighs: cells, strips, printed parts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from layouts.formats import materials
from layouts.pack import Pack
from layouts.strips.joining import Interconnect

__all__ = ["Mass", "mass_of", "printed_mass_g"]

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

    @property
    def total_g(self) -> float:
        """Sum; wires, BMS, screws and inserts are not in it."""
        return self.cells_g + self.strips_g + self.printed_g


def printed_mass_g(pack: Pack, volume_mm3: float) -> float:
    """Mass of a printed part at full infill."""
    return materials()[pack.printer.material].density_g_cm3 * volume_mm3 / 1000.0


def mass_of(pack: Pack, interconnect: Interconnect, volumes_mm3: Iterable[float]) -> Mass:
    """Mass of the pack from the volumes of all printed parts, copies counted."""
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
    )
