"""Sheet metal brackets: whether the sheet can be bent so, and whether it bears the jolts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from layouts.brackets.angle_strength import from_foot
from layouts.brackets.kind import Hold, MountingPad
from layouts.brackets.loads import BracketLoad, bracket_loads
from layouts.checks import Check
from layouts.formats import SheetMetal, screws
from layouts.pack import Pack

__all__ = [
    "METAL_SAFETY",
    "SHEET_STRESS",
    "FoldSizes",
    "allowed_mpa",
    "bend_mm2",
    "sheet_bend",
    "sheet_stress",
]

SHEET_STRESS = "sheet_stress"  # the check's id
METAL_SAFETY = 1.5  # yield over the allowed stress; general design practice, from memory

# Rules of a press brake, common practice, no source; lengths counted from the inside face of the
# other leg, where the sheet is thickest to the tool: the safe reading of such rules
LEG_THICKNESSES = 4.0  # a leg is so many thicknesses and a radius long
HOLE_THICKNESSES = 2.5  # the edge of a hole stays so many thicknesses and a radius away


@dataclass(frozen=True, kw_only=True, slots=True)
class FoldSizes:
    """What both checks read of a bracket [mm].

    ``leg_mm``, ``foot_mm``: outside lengths. ``pad_up_mm``: holes of the leg above the foot's
    underside; ``near_mm``: nearest row of the foot's holes from the leg's inside face."""

    metal: SheetMetal
    thickness_mm: float
    radius_mm: float
    wide_mm: float
    leg_mm: float
    foot_mm: float
    pad_up_mm: float
    near_mm: float
    pad_screw: str
    mount_screw: str


def allowed_mpa(metal: SheetMetal) -> float:
    """Allowed stress: yield over the safety factor [MPa]."""
    return metal.yield_mpa / METAL_SAFETY


def sheet_bend(sizes: FoldSizes) -> Check:
    """The rule of bending that is kept by least: what there is over what it asks. Washers lie on
    the flat where the holes' edges keep off the bend."""
    thick, radius = sizes.thickness_mm, sizes.radius_mm
    small, large = screws()[sizes.pad_screw], screws()[sizes.mount_screw]
    leg = LEG_THICKNESSES * thick + radius
    hole = HOLE_THICKNESSES * thick + radius
    up = sizes.pad_up_mm - thick
    rules = (
        (radius, sizes.metal.least_radius_ratio * thick, "inside radius"),
        (sizes.leg_mm - thick, leg, "leg, from the foot's inside face"),
        (sizes.foot_mm - thick, leg, "foot, from the leg's inside face"),
        (up - small.clearance_diameter_mm / 2.0, hole, "edge of the leg's holes to the foot"),
        (sizes.near_mm - large.clearance_diameter_mm / 2.0, hole, "edge of the foot's to the leg"),
    )
    there, asked, what = min(rules, key=lambda rule: rule[0] / rule[1])
    return Check(
        id="sheet_bend",
        about="a sheet metal bracket can be bent: what there is over what the rule asks, the least "
        "of radius, legs and holes",
        holds=there >= asked - 1e-9,
        value=there / asked,
        limit=1.0,
        unit="",
        source="inside radius by the metal (table of sheet metals); legs of 4 t + r, holes 2.5 t + "
        "r off the bend, common practice, no source",
        remedy="a thinner mount.thickness_mm, another mount.bend_radius_mm or mount.metal",
        where=f"{what}: {there:.2f} of {asked:.2f} mm",
    )


def sheet_stress(
    pack: Pack, sizes: FoldSizes, pads: Sequence[MountingPad], hold: Hold, *, mass_kg: float
) -> Check:
    """Greatest stress at the bend or beside a screw of the bracket that bears most, when the load's
    jolts come all at once.

    At the bend the beam formula, as of a printed bracket: 6 M / (b t^2) off the wall and upright,
    6 M / (t b^2) along it, b no more than a spread of 45 degrees from the pad screws reaches. A
    force along the wall, at the pad's height, also twists the foot: counted as a strip free to
    warp, sqrt(3) 3 T / (b t^2), or as two halves bent against each other, 24 T n / (b t)^2, n to
    the foot's screws, whichever is more. Added in whatever signs, on the safe side. Beside a screw:
    the force across it over d t, all on one screw, since holes have play. Raises ValueError without
    a load."""
    found = []
    for load in bracket_loads(pack, pads, hold, mass_kg=mass_kg):
        x, y = load.pad.middle_mm
        where = f"bracket at pad ({x:.0f}, {y:.0f})"
        found.append((_bend_mpa(sizes, load), f"bend of the {where}"))
        found.append((_bearing_mpa(sizes, load), f"beside a screw of the {where}"))
    stress, where = max(found)
    limit = allowed_mpa(sizes.metal)
    return Check(
        id=SHEET_STRESS,
        about=f"stress of the sheet metal brackets of {sizes.metal.metal}, "
        f"{sizes.thickness_mm:g} mm: at the bend or beside a screw",
        holds=stress <= limit,
        value=stress,
        limit=limit,
        unit="MPa",
        source=f"beam formula; yield of the metal (table of sheet metals, from memory) divided by "
        f"{METAL_SAFETY:g}, general design practice",
        remedy="a thicker mount.thickness_mm, a stronger mount.metal, wider spacing of "
        "mount.holes_mm along the wall, or a lower load.acceleration_g",
        at_least=False,
        where=where,
    )


def bend_mm2(sizes: FoldSizes, pad: MountingPad) -> tuple[float, float, float]:
    """Stress at the bend for 1 N off the wall, along it and upright, as ``sheet_stress`` counts
    them [1/mm2]."""
    pad, thick = from_foot(pad), sizes.thickness_mm
    washer = screws()[sizes.pad_screw].washer_diameter_mm
    broad = min(sizes.wide_mm, pad.apart_mm + washer + 2.0 * pad.up_mm)
    up, out = pad.up_mm - thick / 2.0, sizes.near_mm + thick / 2.0
    section, modulus = broad * thick, broad * thick**2 / 6.0
    twist = max(3.0 * math.sqrt(3.0) / (broad * thick**2), 24.0 * out / (broad * thick) ** 2)
    return (
        up / modulus + 1.0 / section,
        6.0 * math.hypot(up, out) / (thick * broad**2) + up * twist,
        out / modulus + 1.0 / section,
    )


def _bend_mpa(sizes: FoldSizes, load: BracketLoad) -> float:
    """Stresses at the bend by each of the three forces, added."""
    off, along, up = bend_mm2(sizes, load.pad)
    return load.most_added(off=off, along=along, up=up)


def _bearing_mpa(sizes: FoldSizes, load: BracketLoad) -> float:
    """The whole force across a screw, on its diameter times the thickness."""
    off, along, up = load.jolts_n().T
    pad_mm, frame_mm = (
        float(one.removeprefix("M")) for one in (sizes.pad_screw, sizes.mount_screw)
    )
    in_pad = float(np.hypot(along, up).max()) / pad_mm
    in_frame = float(np.hypot(off, along).max()) / frame_mm
    return max(in_pad, in_frame) / sizes.thickness_mm
