"""The bracket as a solid: an L between two gusset ribs, with screw holes bored sideways."""

from __future__ import annotations

import math

from generators.parts.part import Part
from generators.solids.bore import Bore
from generators.solids.profile import polygon, rounded_polygon
from generators.solids.slabs import Body, Slab, build
from layouts.enclosures.bracket import BracketDesign

COLOUR = (0.45, 0.47, 0.50)
# A bore ends this far beyond the plate, so that no face ends flush with another
OVERSHOOT_MM = 0.5


def bracket_body(design: BracketDesign) -> Body:
    """Rib, L, rib: three slabs, without the screw holes."""
    regions = {
        "profile": [rounded_polygon(design.profile_mm, design.profile_radii_mm)],
        "rib": [polygon(design.rib_profile_mm)],
    }
    inner = design.width_mm - design.rib_mm
    return build(
        regions,
        [
            Slab(0.0, design.rib_mm, lambda inside: inside["profile"] | inside["rib"]),
            Slab(design.rib_mm, inner, lambda inside: inside["profile"]),
            Slab(inner, design.width_mm, lambda inside: inside["profile"] | inside["rib"]),
        ],
    )


def bracket_bores(design: BracketDesign) -> tuple[Bore, ...]:
    """The leg's holes along x, from its back; the foot's along y, from its underside."""
    deep = design.thickness_mm + OVERSHOOT_MM
    leg = [
        Bore((0.0, up, along), (1.0, 0.0, 0.0), design.leg_hole_mm / 2.0, deep)
        for up, along in design.leg_holes
    ]
    foot = [
        Bore((out, 0.0, along), (0.0, 1.0, 0.0), design.foot_hole_mm / 2.0, deep)
        for out, along in design.foot_holes
    ]
    return (*leg, *foot)


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
            len(design.leg_holes) * design.leg_hole_mm**2
            + len(design.foot_holes) * design.foot_hole_mm**2
        )
    )
    return profile * design.width_mm + 2.0 * rib * design.rib_mm - holes


def bracket_print_note(design: BracketDesign) -> str:
    """How to print it, and in which order its screws go in."""
    return (
        "as it lies in the file, on its side: the layers then run round the corner, which is "
        "what bends. Four walls, half filled or more. The screw holes close over by themselves; "
        f"the upper rib begins as a bridge of {design.bridge_mm:.0f} mm, where a little sag does "
        "no harm: support it if your printer bridges badly. Lug screws go in before the foot's"
    )


def bracket_part(design: BracketDesign) -> Part:
    """The bracket, one placed copy a lug."""
    return Part(
        name="bracket",
        role="bracket",
        body=bracket_body(design),
        bores=bracket_bores(design),
        formula_mm3=bracket_formula_mm3(design),
        placed=design.placed,
        colour=COLOUR,
        print_note=bracket_print_note(design),
    )
