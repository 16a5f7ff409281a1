"""How stiff brackets are, and how slowly the pack can swing on them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigh

from layouts.brackets.kind import Hold, MountingPad
from layouts.brackets.loads import spring_rows
from layouts.formats import screws

__all__ = ["Washers", "angle_stiffness_n_mm", "natural_frequencies_hz", "plate_stiffness_n_mm"]

Stiffness = tuple[float, float, float]

POISSON = 0.38  # of printed plastics; common practice, no source
WIDE_PLATE = 0.86  # 1 - Poisson's ratio squared: a wide foot bends as a plate
GUSSET_SHARE = 0.85  # of a gusset's reach that counts: its thin ends carry little
TWIST_SHARE = 0.6  # of the foot's twist that the screws leave free
E_OVER_G = 2.0 * (1.0 + POISSON)
SHEAR = 1.2 * E_OVER_G  # with the form factor of a rectangle
SEAT_SHARE = 0.4  # of a washer's radius by which a plate that it holds bends over less length
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
        + leg**2 * foot * TWIST_SHARE * E_OVER_G / twist
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


@dataclass(frozen=True, kw_only=True, slots=True)
class Washers:
    """Equal washers that hold or pull a plate, by the screws' places in its plan [mm].

    How far they give way for 1 N, or turn for 1 N mm, is told times the plate's modulus: stiff
    discs on a half-space (contact mechanics; formulas from memory), with a ring of the plate's own
    material between, on the safe side."""

    screw: str
    places_mm: tuple[tuple[float, float], ...]

    @property
    def span_mm(self) -> float:
        """Along the wall, from edge to edge."""
        along = [x for x, _ in self.places_mm]
        return max(along) - min(along) + 2.0 * self.radius_mm

    @property
    def radius_mm(self) -> float:
        """Of one washer."""
        return screws()[self.screw].washer_diameter_mm / 2.0

    @property
    def high_mm(self) -> float:
        """Of one washer."""
        return screws()[self.screw].washer_high_mm

    @property
    def tilt_mm3(self) -> float:
        """Turn about an axis in the plate's face: 3 (1 - v^2) / (4 a^3) each [1/mm3]."""
        radius, hole = self.radius_mm, self._hole_mm
        ring = self.high_mm / (math.pi / 4.0 * (radius**4 - hole**4))
        return (0.75 * WIDE_PLATE / radius**3 + ring) / len(self.places_mm)

    @property
    def spin_mm3(self) -> float:
        """Turn in the plate's plane: each shifted by its way from their middle, and 3 E / (16 G
        a^3) about its own screw [1/mm3]."""
        radius, hole = self.radius_mm, self._hole_mm
        ring = self.high_mm / (math.pi / 2.0 * (radius**4 - hole**4))
        own = E_OVER_G * (3.0 / 16.0 / radius**3 + ring)
        places = np.array(self.places_mm)
        ways_mm2 = float(((places - places.mean(axis=0)) ** 2).sum())
        return 1.0 / (ways_mm2 / self._slip_each_mm + len(places) / own)

    @property
    def slip_mm(self) -> float:
        """Shift in the plate's face of the upper row, which bears most [1/mm]."""
        top = max(y for _, y in self.places_mm)
        return self._slip_each_mm / sum(math.isclose(y, top) for _, y in self.places_mm)

    @property
    def _slip_each_mm(self) -> float:
        """(2 - v) E / (8 G a) [1/mm]."""
        radius = self.radius_mm
        ring = SHEAR * self.high_mm / (math.pi * (radius**2 - self._hole_mm**2))
        return (2.0 - POISSON) * E_OVER_G / 8.0 / radius + ring

    @property
    def _hole_mm(self) -> float:
        return screws()[self.screw].clearance_diameter_mm / 2.0


def plate_stiffness_n_mm(
    *,
    thick_mm: float,
    wide_mm: float,
    arm_mm: float,
    held: Washers,
    loaded: Washers,
    modulus_mpa: float,
) -> Stiffness:
    """A flat plate held by washers, pulled at others a row ``arm_mm`` away [N/mm].

    Cantilever with shear, as broad as both rows in the mean and half a thickness more. Forces in
    its plane act at the washers' outer faces, off its middle: one along the row twists it, an
    upright one bends it evenly, e^2 L / (E I). Tilt and shift of the washers in series. Set to
    finite elements of five plates: 0.89 to 1.01 of them off the wall, 0.74 to 1.06 in its plane."""
    broad = min(wide_mm, (held.span_mm + loaded.span_mm + thick_mm) / 2.0)
    section, inertia = broad * thick_mm, broad * thick_mm**3 / 12.0
    bent = arm_mm - SEAT_SHARE * held.radius_mm
    clear = arm_mm - held.radius_mm - loaded.radius_mm
    lever = thick_mm / 2.0 + max(held.high_mm, loaded.high_mm)
    shear, slip = SHEAR * arm_mm / section, held.slip_mm + loaded.slip_mm
    twist = broad * thick_mm**3 / 3.0 * (1.0 - 0.63 * min(1.0, thick_mm / broad))
    off = bent**3 / (3.0 * inertia) + shear + arm_mm**2 * held.tilt_mm3
    along = (
        4.0 * bent**3 / (thick_mm * broad**3)
        + shear
        + lever**2 * clear * E_OVER_G / twist
        + arm_mm**2 * held.spin_mm3
        + slip
    )
    upright = clear / section + lever**2 * (clear / inertia + held.tilt_mm3) + slip
    return modulus_mpa / off, modulus_mpa / along, modulus_mpa / upright


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
