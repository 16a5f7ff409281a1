"""Silicone between lid and upper holder as springs: cord in lengths, round discs.

All numbers are from memory unless said: Gent's formula from Shore hardness to Young's modulus, and
the stiffness of a bonded block by its shape factor S (loaded over free area).
"""

from __future__ import annotations

import math

__all__ = [
    "BAND", "CORD_MM", "DISC_MM", "SET_LEFT", "SQUEEZE_MM", "cord_n_mm", "disc_n", "young_mpa",
]  # fmt: skip

SHORE_A = 40.0
CORD_MM = 3.0  # wide and high, solid
DISC_MM = 4.0  # diameter, as high as the cord
SQUEEZE_MM = 0.55  # of the cord by the drawing; can, print and floor add to +-0.35 (practice)
BAND = (0.15, 0.22)  # of its height, after it was gauged and shimmed
SET_LEFT = 0.6  # of the force is left after years; common practice, no source


def young_mpa(shore_a: float = SHORE_A) -> float:
    """Young's modulus of an elastomer by its hardness (Gent's formula, from memory) [MPa]."""
    return 0.0981 * (56.0 + 7.66 * shore_a) / (0.137505 * (254.0 - 2.54 * shore_a))


def cord_n_mm(squeeze: float) -> float:
    """Force on 1 mm of cord, squeezed by that share of its height: a long bonded strip [N/mm]."""
    shape = CORD_MM / (2.0 * CORD_MM)
    return CORD_MM * _stress_mpa(4.0 / 3.0 * young_mpa() * (1.0 + shape**2), squeeze)


def disc_n(squeeze: float) -> float:
    """Force on a disc, squeezed by that share of its height [N]."""
    shape = DISC_MM / (4.0 * CORD_MM)
    area = math.pi / 4.0 * DISC_MM**2
    return area * _stress_mpa(young_mpa() * (1.0 + 2.0 * shape**2), squeeze)


def _stress_mpa(modulus_mpa: float, squeeze: float) -> float:
    left = 1.0 - squeeze
    return modulus_mpa / 3.0 * (left**-2 - left)
