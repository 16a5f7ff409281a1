"""Ways that heat takes round a cell: conductances in W/K, from lengths in mm.

Each cell is one temperature, that of its can: along the can some 1 K a watt is lost, from the can
to what surrounds it some 50 K a watt and more, so that dividing the cell along its length gains
nothing."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from layouts.heat.convection import KELVIN

__all__ = [
    "AXIAL_W_MK",
    "CELL_HEAT_J_KGK",
    "RADIAL_W_MK",
    "STILL_GAP_MM",
    "along_cell_k_w",
    "core_k_w",
    "facing_factor",
    "gap_w_m2k",
    "metal_w_mk",
    "strip_w_k",
]

# lower end of what was measured on 18650 and 21700 cells, 11.8 to 16.7 (Yu et al., Applied
# Thermal Engineering 2023, abstract)
AXIAL_W_MK = 11.8
RADIAL_W_MK = 0.2  # lower end of the literature's 0.2 to 1.0; from memory
# about 1000, most cells from 800 up (a public article on measuring cells); planning value
CELL_HEAT_J_KGK = 1000.0
# a wider upright gap carries no less: the air in it starts to turn; common practice, no source
STILL_GAP_MM = 12.0
LORENZ_W_OHM_K2 = 2.443e-8  # (pi^2 / 3)(k/e)^2: Sommerfeld's value, follows from constants


def facing_factor(
    *, diameter_mm: float, apart_mm: NDArray[np.float64], sector_deg: float
) -> NDArray[np.float64]:
    """Shape factor (M,) a length of two like cylinders at ``apart_mm``; times k L it is W/K.

    The whole way round (``sector_deg`` 360) it is that of an isolated pair, 2 pi /
    acosh((2 w^2 - D^2) / D^2) (Incropera and DeWitt, Table 4.1). In a field each pair has only
    the sector that faces its neighbour: 60 degrees on a honeycomb, 90 on a grid. Between two
    cylinders the flux is even over the bipolar angle s, and the point at an angle a off the
    line of centres lies at cos s = (1 - c cos a) / (c - cos a), c = w / D; so the share
    (pi - s) / pi of the pair's flux leaves within the sector. An isolated pair's value would be
    some 60 % too much for a honeycomb. Raises ValueError where cylinders touch.
    """
    ratio = apart_mm / diameter_mm
    if np.any(ratio <= 1.0):
        raise ValueError("cylinders must stand clear of each other")
    edge = math.cos(math.radians(sector_deg / 2.0))
    cosine = np.clip((1.0 - ratio * edge) / (ratio - edge), -1.0, 1.0)
    share = (math.pi - np.arccos(cosine)) / math.pi
    return np.asarray(share * 2.0 * math.pi / np.arccosh(2.0 * ratio**2 - 1.0))


def gap_w_m2k(
    gap_mm: NDArray[np.float64], *, air_w_mk: float, radiation_w_m2k: float
) -> NDArray[np.float64]:
    """Across gaps of still air between two faces, W/(m2 K): conduction and radiation side by side.

    Wider than ``STILL_GAP_MM`` they carry what a gap of that width does.
    """
    return np.asarray(air_w_mk / (np.minimum(gap_mm, STILL_GAP_MM) / 1000.0) + radiation_w_m2k)


def along_cell_k_w(*, diameter_mm: float, length_mm: float) -> float:
    """From a cell's mean to one end, K a watt through that end: L / (6 k A).

    Heat made evenly along it, half of it leaving at each end (steady conduction).
    """
    area = math.pi / 4.0 * (diameter_mm / 1000.0) ** 2
    return length_mm / 1000.0 / (6.0 * AXIAL_W_MK * area)


def core_k_w(*, length_mm: float) -> float:
    """From a cell's axis to its can, K a watt made in it: 1 / (4 pi k L).

    A cylinder that heats evenly (steady conduction; Incropera and DeWitt, chapter 3).
    """
    return 1.0 / (4.0 * math.pi * RADIAL_W_MK * length_mm / 1000.0)


def metal_w_mk(ohm_m: float, *, celsius: float = 20.0) -> float:
    """Thermal conductivity of a metal from its resistivity: k = L T / rho (Wiedemann and Franz)."""
    return LORENZ_W_OHM_K2 * (celsius + KELVIN) / ohm_m


def strip_w_k(*, ohm_m: float, section_mm2: float, length_mm: float) -> float:
    """A length of strip: k A / L."""
    return metal_w_mk(ohm_m) * (section_mm2 * 1e-6) / (length_mm / 1000.0)
