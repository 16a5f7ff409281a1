"""Strength of the angle bracket: bending at its inside corner."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from layouts.brackets.kind import MountingPad
from layouts.brackets.strength import GRAVITY_M_S2, SAFETY, strength_limit_mpa
from layouts.checks import Check
from layouts.formats import screws
from layouts.pack import Pack

if TYPE_CHECKING:
    from layouts.brackets.angle import BracketDesign

__all__ = ["STAND_MM", "bracket_root_stress", "corner_check", "from_foot"]

# The feet lie so far below the tub, so that its drains stay open on a plate; common practice,
# no source
STAND_MM = 3.0


def bracket_root_stress(
    pack: Pack, design: BracketDesign, pad: MountingPad, *, mass_kg: float
) -> Check:
    """Bending stress at the corner of leg and foot when the load's jolts come all at once.

    Each of n brackets takes 1/n of mass * acceleration; as the pack may be turned in its space, the
    greater of the two level jolts acts both along the wall and across it, whichever way that wall
    faces. Plain beam formula 6 M / (b t^2) of a rectangle, b by t, and along the wall 6 M /
    (t b^2): the leg is bent by the push away from the wall at the pad screws' height, the foot by
    the lift at the leg up to its nearest screw. The ribs are left out, and the stresses added, both
    on the safe side; b is no more than a spread of 45 degrees from the pad screws reaches. Raises
    ValueError without a load: then nothing was required."""
    if pack.load is None:
        raise ValueError("load: without one there is no acceleration to withstand")
    return corner_check(pack, design, from_foot(pad), mass_kg)


def from_foot(pad: MountingPad) -> MountingPad:
    """The mounting pad with its heights measured from the level of the bracket's foot."""
    return replace(
        pad,
        underside_mm=pad.underside_mm - STAND_MM,
        high_mm=pad.high_mm + STAND_MM,
        up_mm=pad.up_mm + STAND_MM,
    )


def corner_check(pack: Pack, design: BracketDesign, pad: MountingPad, mass_kg: float) -> Check:
    """The check itself, with the pad's heights measured from the foot."""
    assert pack.load is not None
    thick = design.thickness_mm
    washer = screws()[design.pad_screw].washer_diameter_mm
    broad = min(design.width_mm, pad.apart_mm + washer + 2.0 * pad.up_mm)
    *level_g, upright_g = (abs(g) for g in pack.load.acceleration_g)
    share_n = GRAVITY_M_S2 * mass_kg / len(design.placed)  # for each g
    pull_n = along_n = max(level_g) * share_n
    lift_n = upright_g * share_n
    up, out = pad.up_mm - thick / 2.0, design.near_mm + thick / 2.0
    stress = (
        6.0 * (pull_n * up + lift_n * out) / (broad * thick**2)
        + 6.0 * along_n * math.hypot(up, out) / (thick * broad**2)
        + (pull_n + lift_n) / (broad * thick)
    )
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
