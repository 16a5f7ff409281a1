"""Strength and stiffness of tube clamps: leg, cap, and what holds along the tube."""

from __future__ import annotations

import math
from collections.abc import Sequence

from layouts.brackets.clamp_sizes import ClampSizes
from layouts.brackets.kind import Hold, MountingPad
from layouts.brackets.loads import BracketLoad, bracket_loads
from layouts.brackets.strength import SAFETY, strength_limit_mpa
from layouts.checks import Check
from layouts.formats import screws
from layouts.pack import Pack

__all__ = [
    "SLIP_SAFETY", "bolt_factor_mm2", "cap_factor_mm2", "clamp_checks", "clamp_springs_n_mm",
    "leg_factors_mm2", "slip_n", "tightened_n",
]  # fmt: skip

# All of these are common practice, no source
FRICTION = 0.2  # tube on rubber or plastic
KEPT = 0.3  # of the screws' force that creep leaves
SLIP_SAFETY = 2.0
TWIST = 3.0 * math.sqrt(3.0)  # stress of a thin rectangle twisted, as a tension: T / (b t^2)
SHEAR = 1.2 * 2.76  # form factor of a rectangle times E / G of 0.38
STRENGTH = (
    "lowest printed tensile strength along the layers (materials table) divided by "
    f"{SAFETY:g}, common practice, no source"
)
WEAKER = (
    "a stronger printer.material, a lower load.acceleration_g, or the tub supported from below as "
    "well"
)


def clamp_checks(
    pack: Pack, sizes: ClampSizes, pads: Sequence[MountingPad], hold: Hold, *, mass_kg: float
) -> tuple[Check, ...]:
    """Of the clamp that bears most. Raises ValueError without a load."""
    loads = bracket_loads(pack, pads, hold, mass_kg=mass_kg)
    limit = strength_limit_mpa(pack)
    bending = [
        (
            "clamp_bending", "bending stress of a tube clamp's leg at its pad screws",
            max(_leg_mpa(sizes, load) for load in loads),
            "beam and torsion formulas; " + STRENGTH,
        ),
        (
            "clamp_cap", "bending stress of a tube clamp's cap, the tube pulling at it",
            max(load.most(off=cap_factor_mm2(sizes)) for load in loads),
            "beam formula; " + STRENGTH,
        ),
    ]  # fmt: skip
    return (
        *(
            Check(
                id=name, about=about, holds=value <= limit, value=value, limit=limit, unit="MPa",
                at_least=False, source=source, remedy=WEAKER, where="bracket",
            )
            for name, about, value, source in bending
        ),
        _along(pack, sizes, loads),
    )  # fmt: skip


def leg_factors_mm2(sizes: ClampSizes) -> tuple[float, float, float]:
    """For 1 N off the wall, along it and upright: stress of the leg at the row of its pad screws,
    as if it were held there alone.

    6 M / (b t^2), b less the holes, from the tube's pull below the row and its lift before the leg;
    along the wall 6 M / (t b^2), and the twist by the tube's distance from the leg."""
    arm, out = _arm_mm(sizes), sizes.tube_x_mm - sizes.thick_mm / 2
    wide, thick = sizes.wide_mm, sizes.thick_mm
    net = wide - 2 * screws()[sizes.pad_screw].clearance_diameter_mm
    modulus = net * thick**2 / 6
    return (
        arm / modulus + 1 / (net * thick),
        6 * arm / (thick * wide**2) + TWIST * out / (wide * thick**2),
        out / modulus + 1 / (net * thick),
    )


def _leg_mpa(sizes: ClampSizes, load: BracketLoad) -> float:
    off, along, up = leg_factors_mm2(sizes)
    return load.most_added(off=off, along=along, up=up)


def cap_factor_mm2(sizes: ClampSizes) -> float:
    """For 1 N off the wall: stress at the cap's middle, a bar between its screws that the tube
    presses evenly over its width, M = F / 2 (distance of a screw - a quarter of the width)."""
    net = sizes.wide_mm - screws()[sizes.screw].clearance_diameter_mm * sizes.cross_bolt
    moment = (sizes.clamp_off_mm - sizes.hollow_mm / 2) / 2
    return 6 * moment / (net * sizes.crown_mm**2)


def bolt_factor_mm2(sizes: ClampSizes) -> float:
    """For 1 N along the wall: pressure of the cross bolt on its holes in cap and block."""
    deep = sizes.crown_mm + sizes.back_mm - sizes.nut_mm
    return 1 / (float(sizes.screw.removeprefix("M")) * deep)


def _along(pack: Pack, sizes: ClampSizes, loads: Sequence[BracketLoad]) -> Check:
    """The cross bolt's pressure on its holes in cap and block; without one, friction."""
    force = max(load.most(along=1.0) for load in loads)
    if sizes.cross_bolt:
        value = force * bolt_factor_mm2(sizes)
        limit = strength_limit_mpa(pack)
        return Check(
            id="clamp_bolt", about="pressure of the screw through the tube on cap and block",
            holds=value <= limit, value=value, limit=limit, unit="MPa", at_least=False,
            source="force over diameter times thickness; " + STRENGTH, remedy=WEAKER,
            where="bracket",
        )  # fmt: skip
    limit = slip_n(sizes, strength_limit_mpa(pack)) / SLIP_SAFETY
    return Check(
        id="clamp_slip", about="force along the tube on a clamp that only friction holds",
        holds=force <= limit, value=force, limit=limit, unit="N", at_least=False,
        source=(
            f"friction {FRICTION:g} on both sides of the tube, {KEPT:g} of the screws' force left "
            f"by creep, divided by {SLIP_SAFETY:g}: common practice, no source"
        ),
        remedy="mount.cross_bolt: true, or a lower load.acceleration_g", where="bracket",
    )  # fmt: skip


def tightened_n(screw: str, limit_mpa: float) -> float:
    """Force of a clamp screw that plastic of an allowed stress bears under its washer [N]."""
    size = screws()[screw]
    ring = math.pi / 4 * (size.washer_diameter_mm**2 - size.clearance_diameter_mm**2)
    return ring * limit_mpa


def slip_n(sizes: ClampSizes, limit_mpa: float) -> float:
    """Force along the tube at which a clamp slips that has no cross bolt [N]: two screws press the
    tube from two sides."""
    return 2 * FRICTION * 2 * tightened_n(sizes.screw, limit_mpa) * KEPT


def clamp_springs_n_mm(sizes: ClampSizes, modulus_mpa: float) -> tuple[float, float, float]:
    """Off the wall, along it and upright, at the tube's middle line [N/mm].

    The leg from its pad screws' row to the block as a beam, pulled off the wall longer by a third
    of its thickness, and from their washers' lower edge on as a bar in torsion; the block beyond it
    as a beam as deep as its back. Set to finite elements of one size, without the pad behind the
    leg."""
    wide, thick = sizes.wide_mm, sizes.thick_mm
    washer = screws()[sizes.pad_screw].washer_diameter_mm
    row = sizes.pad_y_mm - sizes.block_y_mm
    free, twisted = row + thick / 3, row - washer / 2
    far = sizes.block_y_mm - sizes.tube_y_mm
    out = sizes.tube_x_mm - thick / 2
    inertia, section = wide * thick**3 / 12, wide * thick
    deep = sizes.back_mm
    block = wide * deep**3 / 12
    off = (
        ((far + free) ** 3 - far**3) / 3 / inertia
        + far**3 / 3 / block
        + SHEAR * (free / section + far / (wide * deep))
    )
    up = out**2 * row / inertia + free / section + out**2 * far / block
    side = wide**3 * thick / 12
    twist = wide * thick**3 / 3 * (1 - 0.63 * thick / wide)
    along = ((far + free) ** 3 - far**3) / 3 / side + out**2 * twisted * 2.76 / twist
    along += SHEAR * free / section
    return modulus_mpa / off, modulus_mpa / along, modulus_mpa / up


def _arm_mm(sizes: ClampSizes) -> float:
    """From the tube's middle up to the pad screws."""
    return sizes.pad_y_mm - sizes.tube_y_mm
