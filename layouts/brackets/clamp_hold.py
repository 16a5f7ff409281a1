"""A tube clamp in its place, as the solver of frames sees it."""

from __future__ import annotations

from layouts.brackets.clamp_checks import (
    SLIP_SAFETY,
    bolt_factor_mm2,
    cap_factor_mm2,
    clamp_springs_n_mm,
    leg_factors_mm2,
    slip_n,
)
from layouts.brackets.clamp_sizes import ClampSizes
from layouts.brackets.holding import FrameHold, HeldBody, HoldPoint, LugSize
from layouts.brackets.kind import Hold, MountingPad
from layouts.brackets.lug_caps import least_caps_n, lug_shares

__all__ = ["clamp_hold"]


def clamp_hold(
    sizes: ClampSizes, hold: Hold, body: HeldBody, pad: MountingPad, lug: LugSize
) -> FrameHold:
    """Off the wall and upright it holds at two points, a quarter of its width from its middle;
    along the tube at one, by the screw through it or by friction."""
    limit = body.limit_mpa
    off, along, up = (one / limit for one in leg_factors_mm2(sizes))
    cap = (cap_factor_mm2(sizes) / limit, 0.0, 0.0)
    bolt = (0.0, bolt_factor_mm2(sizes) / limit if sizes.cross_bolt else 0.0, 0.0)
    shares = lug_shares(lug, out_mm=hold.out_mm, below_mm=hold.below_mm, apart_mm=hold.apart_mm)
    caps = least_caps_n((off, along, up), cap, bolt, *shares)
    springs = clamp_springs_n_mm(sizes, body.modulus_mpa)
    z = pad.underside_mm - hold.below_mm
    far, aside = pad.face_mm + hold.out_mm, sizes.wide_mm / 4
    points = [
        HoldPoint(
            at_mm=(*pad.at_mm(pad.along_mm + side * aside, far), z),
            way=way, stiffness_n_mm=springs[k] / 2, along_n=caps[k] / 2, against_n=caps[k] / 2,
        )
        for side in (-1.0, 1.0)
        for k, way in ((0, (*pad.normal, 0.0)), (2, (0.0, 0.0, 1.0)))
    ]  # fmt: skip
    force = caps[1] if sizes.cross_bolt else min(caps[1], slip_n(sizes, limit) / SLIP_SAFETY)
    points.append(
        HoldPoint(
            at_mm=(*pad.at_mm(pad.along_mm, far), z),
            way=(*pad.right, 0.0), stiffness_n_mm=springs[1], along_n=force, against_n=force,
            slips=not sizes.cross_bolt,
        )
    )  # fmt: skip
    return FrameHold(
        kind="square_clamp" if sizes.square else "round_clamp", feature="frame",
        face=pad.side.value, points=tuple(points), grams=0.0, drilled=int(sizes.cross_bolt),
        screws=4 + int(sizes.cross_bolt), thick_mm=sizes.thick_mm,
    )  # fmt: skip
