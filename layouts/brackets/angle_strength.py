"""Strength of the angle bracket: bending at its inside corner."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from layouts.brackets.frequency import angle_stiffness_n_mm
from layouts.brackets.kind import MountingPad
from layouts.brackets.loads import BracketLoad, bracket_loads
from layouts.brackets.strength import SAFETY, strength_limit_mpa
from layouts.checks import Check
from layouts.formats import materials, screws
from layouts.pack import Pack

if TYPE_CHECKING:
    from layouts.brackets.angle import BracketDesign

__all__ = [
    "STAND_MM", "angle_springs_n_mm", "bracket_root_stress", "corner_factors_mm2", "from_foot",
]  # fmt: skip

# The feet lie so far below the tub, so that its drains stay open on a plate; common practice,
# no source
STAND_MM = 3.0


def bracket_root_stress(
    pack: Pack, design: BracketDesign, pads: Sequence[MountingPad], *, mass_kg: float
) -> Check:
    """Bending stress at the corner of leg and foot when the load's jolts come all at once, of the
    bracket that bears most.

    Plain beam formula 6 M / (b t^2) of a rectangle, b by t, and along the wall 6 M / (t b^2): the
    leg is bent by the pull off the wall at the pad screws' height, the foot by the lift at the leg
    up to its nearest screw, as far out as slots let it. The ribs are left out, and the stresses
    added in whatever signs, both on the safe side; b is no more than a spread of 45 degrees from
    the pad screws reaches. Raises ValueError without a load: then nothing was required."""
    loads = bracket_loads(pack, pads, design.hold, mass_kg=mass_kg)
    stress = max(_corner_mpa(design, load) for load in loads)
    limit = strength_limit_mpa(pack)
    return Check(
        id="bracket_root_stress",
        about="bending stress at the bracket's inside corner, ribs neglected",
        holds=stress <= limit,
        value=stress,
        limit=limit,
        unit="MPa",
        source=(
            "beam formula; lowest printed tensile strength along the layers (materials table) "
            f"divided by {SAFETY:g}, common practice, no source"
        ),
        remedy=(
            "wider spacing of mount.holes_mm along the wall, a stronger printer.material, a "
            "lower load.acceleration_g, or the tub supported from below as well"
        ),
        at_least=False,
        where="bracket",
    )


def angle_springs_n_mm(pack: Pack, design: BracketDesign) -> tuple[float, float, float]:
    """Off the wall, along it and upright, clamped where the foot's washers begin [N/mm]."""
    washer = screws()[design.mount_screw].washer_diameter_mm
    return angle_stiffness_n_mm(
        thick_mm=design.thickness_mm,
        wide_mm=design.width_mm,
        near_mm=design.thickness_mm + design.near_mm + design.slot_mm - washer / 2.0,
        up_mm=design.leg_holes[0][0],
        rib_mm=design.rib_mm,
        rib_reach_mm=min(design.rib.long_mm, design.rib.high_mm),
        modulus_mpa=materials()[pack.printer.material].modulus_mpa,
    )


def from_foot(pad: MountingPad) -> MountingPad:
    """The mounting pad with its heights measured from the level of the bracket's foot."""
    return replace(
        pad,
        underside_mm=pad.underside_mm - STAND_MM,
        high_mm=pad.high_mm + STAND_MM,
        up_mm=pad.up_mm + STAND_MM,
    )


def _corner_mpa(design: BracketDesign, load: BracketLoad) -> float:
    """Stresses at the corner by each of the three forces, added."""
    pad = from_foot(load.pad)
    off, along, up = corner_factors_mm2(
        thick_mm=design.thickness_mm, wide_mm=design.width_mm,
        near_mm=design.near_mm + design.slot_mm, up_mm=pad.up_mm, apart_mm=pad.apart_mm,
        washer_mm=screws()[design.pad_screw].washer_diameter_mm,
    )  # fmt: skip
    return load.most_added(off=off, along=along, up=up)


def corner_factors_mm2(
    *,
    thick_mm: float,
    wide_mm: float,
    near_mm: float,
    up_mm: float,
    apart_mm: float,
    washer_mm: float,
) -> tuple[float, float, float]:
    """Stress at the corner for a force of 1 N off the wall, along it and upright [1/mm2].

    ``near_mm``: from the leg to the foot's hole, ``up_mm``: from the foot's underside to the leg's
    holes, ``apart_mm`` between these."""
    broad = min(wide_mm, apart_mm + washer_mm + 2.0 * up_mm)
    up, out = up_mm - thick_mm / 2.0, near_mm + thick_mm / 2.0
    section, modulus = broad * thick_mm, broad * thick_mm**2 / 6.0
    return (
        up / modulus + 1.0 / section,
        6.0 * math.hypot(up, out) / (thick_mm * broad**2),
        out / modulus + 1.0 / section,
    )
