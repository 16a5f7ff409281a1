"""The angle bracket's volume from its sizes alone."""

from __future__ import annotations

import math

from layouts.brackets.angle import BracketDesign

BRIDGE_MM = 9.5  # of the upper rib's lowest layer: below 10, where sag begins to show


def bracket_formula_mm3(design: BracketDesign) -> float:
    """Volume of the finished bracket from its sizes alone [mm3], exact.

    L: two rectangles, less (1 - pi/4) r^2 at each rounded corner, more by as much at the
    inside fillet. A rib beyond the L: the triangle under its slope, the fillet's share not
    counted twice. Holes: round, through plates with flat faces.
    """
    thick, foot, leg = design.thickness_mm, design.foot_mm, design.leg_mm
    corner = 1.0 - math.pi / 4.0
    radii = design.profile_radii_mm
    fillet = corner * design.fillet_mm**2
    rounds = corner * (sum(radius**2 for radius in radii) - design.fillet_mm**2)
    profile = thick * (foot + leg - thick) - rounds + fillet
    long = min(17.0, foot - 3.0 - thick)
    high = min(17.0, leg - 3.0 - thick)
    slope = math.hypot(long, high)
    off_corner = long * high / slope  # height of the triangle over its slope
    lower = long * high / 2.0 - fillet
    # the upper rib's triangles are like the lower one's; each layer's slope lies a layer farther
    # out than the one before, until it is as far or only three are left
    first = max(BRIDGE_MM / slope, (design.fillet_mm + 0.2) / min(long, high)) * off_corner
    count = round(design.rib_mm / design.layer_mm)
    offs = [min(off_corner, first + min(k, count - 3) * design.layer_mm) for k in range(count)]
    upper = sum((off / off_corner) ** 2 * long * high / 2.0 - fillet for off in offs)
    ribs = lower * design.rib_mm + upper * design.layer_mm
    holes = (
        math.pi
        / 4.0
        * thick
        * (
            len(design.leg_holes) * design.leg_hole_diameter_mm**2
            + len(design.foot_holes) * design.foot_hole_diameter_mm**2
        )
    )
    return profile * design.width_mm + ribs - holes
