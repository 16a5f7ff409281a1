"""The angle bracket's volume from its sizes alone."""

from __future__ import annotations

import math

from layouts.brackets.angle import BracketDesign


def bracket_formula_mm3(design: BracketDesign) -> float:
    """Volume of the finished bracket from its sizes alone [mm3], exact.

    L: two rectangles, less (1 - pi/4) r^2 at each rounded corner, more by as much at the
    inside fillet. A rib beyond the L: the triangle under its slope with its blunt ends, the
    fillet's share not counted twice. Holes: round, through plates with flat faces.
    """
    thick, foot, leg = design.thickness_mm, design.foot_mm, design.leg_mm
    corner = 1.0 - math.pi / 4.0
    radii = design.profile_radii_mm
    fillet = corner * design.fillet_mm**2
    rounds = corner * (sum(radius**2 for radius in radii) - design.fillet_mm**2)
    profile = thick * (foot + leg - thick) - rounds + fillet
    (_, _), (end, _), (_, out), (_, top), _ = design.rib_profile_mm
    blunt = out - thick
    long, high = end - thick, top - thick
    # the rectangle long by high, less the triangle beyond the slope
    rib = long * high - (long - blunt) * (high - blunt) / 2.0 - fillet
    holes = (
        math.pi
        / 4.0
        * thick
        * (
            len(design.leg_holes) * design.leg_hole_diameter_mm**2
            + len(design.foot_holes) * design.foot_hole_diameter_mm**2
        )
    )
    return profile * design.width_mm + 2.0 * rib * design.rib_mm - holes
