"""How stiff brackets are, and how slowly the pack can swing on them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigh

from layouts.brackets.kind import Hold, MountingPad
from layouts.brackets.loads import spring_rows

__all__ = ["angle_stiffness_n_mm", "natural_frequencies_hz", "plate_stiffness_n_mm"]

Stiffness = tuple[float, float, float]

WIDE_PLATE = 0.86  # 1 - Poisson's ratio squared: a wide foot bends as a plate
GUSSET_SHARE = 0.85  # of a gusset's reach that counts: its thin ends carry little
TWIST_SHARE = 0.6  # of the foot's twist that the screws leave free
SHEAR = 1.2 * 2.76  # form factor of a rectangle times E / G of 0.38
STEPS = 60  # along a bar


def angle_stiffness_n_mm(
    *,
    thick_mm: float,
    wide_mm: float,
    near_mm: float,
    up_mm: float,
    rib_mm: float,
    rib_reach_mm: float,
    modulus_mpa: float,
) -> Stiffness:
    """An L off its wall, along it and upright, at the pad's screws against the foot's [N/mm].

    Beams of foot and leg in a chain, with two gussets of ``rib_mm`` as ribs; the corner counts a
    third of the thickness longer than clear, the plastic under washers yields in series.
    ``near_mm``: from the leg's outer face to where the foot's washers begin, ``up_mm``: from the
    foot's underside to the leg's screws. Set to finite elements of some sizes."""
    foot, leg, corner = near_mm - thick_mm, up_mm - thick_mm, thick_mm / 3.0
    reach, ribs = GUSSET_SHARE * rib_reach_mm, 2.0 * rib_mm
    (sf, inert_f, area_f), (sl, inert_l, area_l) = (
        _bar(long, wide_mm, thick_mm, ribs, reach) for long in (foot, leg)
    )
    df, dl = foot / STEPS, leg / STEPS
    turned = WIDE_PLATE * (np.sum(1.0 / inert_f) * df + corner / inert_f[-1])
    off = (
        np.sum(sl**2 / inert_l) * dl
        + ((leg + corner) ** 3 - leg**3) / 3.0 / inert_l[-1]
        + (leg + corner) ** 2 * turned
        + SHEAR * np.sum(1.0 / area_l) * dl
        + np.sum(1.0 / area_f) * df
        + 1.0 / (0.3 * thick_mm)
    )
    upright = (
        WIDE_PLATE * np.sum((foot - sf) ** 2 / inert_f) * df
        + SHEAR * np.sum(1.0 / area_f) * df
        + np.sum(1.0 / area_l) * dl
        + 1.0 / (0.6 * thick_mm)
    )
    side = wide_mm**3 * thick_mm / 12.0
    twist = wide_mm * thick_mm**3 / 3.0 * (1.0 - 0.63 * thick_mm / wide_mm)
    along = (
        (leg**3 + foot**3) / 3.0 / side
        + leg**2 * foot * TWIST_SHARE * 2.76 / twist
        + SHEAR * (leg + foot) / (wide_mm * thick_mm)
    )
    return modulus_mpa / float(off), modulus_mpa / float(along), modulus_mpa / float(upright)


def _bar(
    long_mm: float, wide_mm: float, thick_mm: float, ribs_mm: float, reach_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Along a bar from its free end to the corner: way, second moment, area of each step."""
    way = (np.arange(STEPS) + 0.5) * long_mm / STEPS
    left = long_mm - way
    high = np.where(left <= reach_mm, reach_mm - left, 0.0) * (ribs_mm > 0)
    area = wide_mm * thick_mm + ribs_mm * high
    middle = (wide_mm * thick_mm**2 / 2.0 + ribs_mm * high * (thick_mm + high / 2.0)) / area
    inertia = (
        wide_mm * thick_mm**3 / 12.0
        + wide_mm * thick_mm * (middle - thick_mm / 2.0) ** 2
        + ribs_mm * high**3 / 12.0
        + ribs_mm * high * (thick_mm + high / 2.0 - middle) ** 2
    )
    return way, inertia, area


def plate_stiffness_n_mm(
    *, thick_mm: float, wide_mm: float, arm_mm: float, modulus_mpa: float
) -> Stiffness:
    """A flat plate held along one row of screws, pulled at another ``arm_mm`` away [N/mm].

    Cantilever with shear: off the wall by its thickness, along it by its width, upright by its
    section."""
    section = wide_mm * thick_mm
    shear = SHEAR * arm_mm / section
    off = 4.0 * arm_mm**3 / (wide_mm * thick_mm**3) + shear
    along = 4.0 * arm_mm**3 / (thick_mm * wide_mm**3) + shear
    return modulus_mpa / off, modulus_mpa / along, modulus_mpa * section / arm_mm


def natural_frequencies_hz(
    pads: Sequence[MountingPad],
    hold: Hold,
    stiffness_n_mm: Stiffness,
    *,
    mass_kg: float,
    centre_z_mm: float,
    size_mm: tuple[float, float, float],
) -> NDArray[np.float64]:
    """(6,) frequencies of the pack as a stiff block on its brackets, lowest first [Hz].

    Generalised eigenvalues of stiffness and mass. ``size_mm``: of the block, evenly heavy, its
    middle at ``centre_z_mm`` over the plan's origin. Frame and enclosure are taken as stiff: real
    frequencies are lower."""
    rows, axes = spring_rows(pads, hold, centre_z_mm=centre_z_mm)
    each = np.diag(stiffness_n_mm) / 2.0  # two points a bracket
    springs = np.einsum(
        "pai,pab,pbj->ij", axes @ rows, np.tile(each, (len(rows), 1, 1)), axes @ rows
    )
    a, b, c = size_mm
    turning = [mass_kg / 12.0 * (p**2 + q**2) for p, q in ((b, c), (a, c), (a, b))]
    squares = eigh(1000.0 * springs, np.diag([*(mass_kg,) * 3, *turning]), eigvals_only=True)
    return np.asarray(np.sqrt(np.maximum(squares, 0.0)) / (2.0 * math.pi))
