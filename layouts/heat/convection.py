"""Natural convection in air off plates, and radiation: film coefficients by published correlations.

Temperatures in degrees Celsius, lengths in mm, coefficients in W/(m2 K). Ra: Rayleigh number,
Pr: Prandtl number, Nu: Nusselt number (film coefficient x length / conductivity of the air).
"""

from __future__ import annotations

import csv
from bisect import bisect_right
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from layouts.physics import GRAVITY_M_S2

__all__ = [
    "EMISSIVITY",
    "GRAVITY_M_S2",
    "KELVIN",
    "Air",
    "air",
    "film_w_m2k",
    "horizontal_down_nusselt",
    "horizontal_up_nusselt",
    "narrow_radiation_w_m2k",
    "plate_films_w_m2k",
    "radiation_w_m2k",
    "rayleigh",
    "vertical_nusselt",
]

KELVIN = 273.15
STEFAN_BOLTZMANN = 5.670374e-8  # W/(m2 K4), CODATA
EMISSIVITY = 0.9  # printed polymer, sleeves and paper; common practice, from memory, no source
# where the two correlations for the upward face meet: (0.54/0.15)**12
UPWARD_CHANGE_RA = (0.54 / 0.15) ** 12


@dataclass(frozen=True, kw_only=True, slots=True)
class Air:
    """Air at one temperature: SI units; ``expansion_k``: 1/K of an ideal gas."""

    viscosity_m2_s: float
    diffusivity_m2_s: float
    conductivity_w_mk: float
    prandtl: float
    expansion_k: float


@cache
def _air_table() -> tuple[tuple[float, ...], tuple[tuple[float, ...], ...]]:
    """The table's temperatures [K], and its other columns row by row."""
    text = files("layouts.tables").joinpath("air.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    rows = [tuple(float(value) for value in row) for row in csv.reader(lines[1:])]
    return tuple(row[0] for row in rows), tuple(row[1:] for row in rows)


def air(celsius: float) -> Air:
    """Dry air at 1 atm, straight lines between the table's rows, its ends kept beyond them."""
    kelvin, rows = _air_table()
    at = celsius + KELVIN
    after = min(max(bisect_right(kelvin, at), 1), len(kelvin) - 1)
    share = (at - kelvin[after - 1]) / (kelvin[after] - kelvin[after - 1])
    share = min(max(share, 0.0), 1.0)
    viscosity, diffusivity, conductivity, prandtl = (
        low + share * (high - low) for low, high in zip(rows[after - 1], rows[after], strict=True)
    )
    return Air(
        viscosity_m2_s=viscosity * 1e-6,
        diffusivity_m2_s=diffusivity * 1e-6,
        conductivity_w_mk=conductivity,
        prandtl=prandtl,
        expansion_k=1.0 / at,
    )


def rayleigh(air: Air, *, warmer_k: float, length_mm: float) -> float:
    """Ra = g beta dT L^3 / (nu alpha) (definition)."""
    length = length_mm / 1000.0
    drive = GRAVITY_M_S2 * air.expansion_k * abs(warmer_k) * length**3
    return drive / (air.viscosity_m2_s * air.diffusivity_m2_s)


def vertical_nusselt(ra: float, prandtl: float) -> float:
    """Mean Nu of an upright plate, L its height, Ra up to 1e12.

    Nu = (0.825 + 0.387 Ra^(1/6) / (1 + (0.492/Pr)^(9/16))^(8/27))^2. Churchill and Chu,
    Int. J. Heat Mass Transfer 18 (1975) 1323; Incropera and DeWitt eq. 9.26.
    """
    spread = (1.0 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    return float((0.825 + 0.387 * ra ** (1 / 6) / spread) ** 2)


def horizontal_up_nusselt(ra: float) -> float:
    """Mean Nu of a warm face that looks up, L = area / perimeter.

    0.54 Ra^(1/4) from 1e4 to 1e7, 0.15 Ra^(1/3) above (McAdams; Incropera and DeWitt eqs. 9.30,
    9.31; from memory). Changed over where the two meet, Ra = 4.7e6, so that no step of 6 % is
    left at 1e7; below 1e4 the first is carried on.
    """
    if ra < UPWARD_CHANGE_RA:
        return float(0.54 * ra**0.25)
    return float(0.15 * ra ** (1 / 3))


def horizontal_down_nusselt(ra: float) -> float:
    """Mean Nu of a warm face that looks down, L = area / perimeter: 0.27 Ra^(1/4).

    For 1e5 to 1e10, carried on below (McAdams; Incropera and DeWitt eq. 9.32; from memory).
    """
    return float(0.27 * ra**0.25)


def film_w_m2k(nusselt: float, air: Air, *, length_mm: float) -> float:
    """Film coefficient Nu k / L (definition)."""
    return nusselt * air.conductivity_w_mk / (length_mm / 1000.0)


def radiation_w_m2k(surface_c: float, around_c: float, *, emissivity: float = EMISSIVITY) -> float:
    """Radiation to surroundings far larger than the surface, as a film coefficient.

    h = eps sigma (T1^2 + T2^2)(T1 + T2), temperatures in kelvin (Stefan and Boltzmann).
    """
    a, b = surface_c + KELVIN, around_c + KELVIN
    return emissivity * STEFAN_BOLTZMANN * (a * a + b * b) * (a + b)


def narrow_radiation_w_m2k(celsius: float, *, emissivity: float = EMISSIVITY) -> float:
    """Radiation between two close parallel faces of like emissivity at about one temperature.

    h = 4 sigma T^3 / (2/eps - 1): two grey plates (Incropera and DeWitt, chapter 13; from
    memory), the difference small against T.
    """
    return 4.0 * STEFAN_BOLTZMANN * (celsius + KELVIN) ** 3 / (2.0 / emissivity - 1.0)


def plate_films_w_m2k(
    warmer_k: float, ambient_c: float, *, high_mm: float, plate_mm: float
) -> tuple[float, float, float]:
    """Films off a box's upright, upper and lower faces, radiation in them.

    ``warmer_k``: its surface over the air (0 or more); ``high_mm``: height of the upright faces;
    ``plate_mm``: area / perimeter of the other two.
    Air at the mean of surface and ambient temperature.
    """
    between = air(ambient_c + warmer_k / 2.0)
    shine = radiation_w_m2k(ambient_c + warmer_k, ambient_c)
    upright = vertical_nusselt(
        rayleigh(between, warmer_k=warmer_k, length_mm=high_mm), between.prandtl
    )
    flat = rayleigh(between, warmer_k=warmer_k, length_mm=plate_mm)
    return (
        shine + film_w_m2k(upright, between, length_mm=high_mm),
        shine + film_w_m2k(horizontal_up_nusselt(flat), between, length_mm=plate_mm),
        shine + film_w_m2k(horizontal_down_nusselt(flat), between, length_mm=plate_mm),
    )
