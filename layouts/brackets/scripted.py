"""Input of a bracket's script, and what is known of the bracket that it returned.

A bracket's own plan, in mm: x runs away from the mounting pad's face, y up, z along the wall.
x = 0 is the pad's face, y = 0 the frame's, z = 0 the pad's middle. It is printed with z upwards,
so that no layer is pulled off the next one when the corner is bent.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from layouts.brackets.angle_strength import STAND_MM
from layouts.brackets.frame_holes import TOOL_GAP_MM, check_frame_holes
from layouts.brackets.kind import MountingPad
from layouts.formats import screws
from layouts.pack import Pack, Side
from layouts.parts.given import GivenShape

__all__ = ["PAD_PLATE_MM", "PAD_WIDE_MM", "BracketSizes", "ScriptedBracket", "sizes_for"]

PAD_WIDE_MM = 34.0  # of a mounting pad, along the wall
# The frame's holes stand so far out that a plate of this thickness may lie on the pad; common
# practice, no source
PAD_PLATE_MM = 8.0


@dataclass(frozen=True, kw_only=True, slots=True)
class BracketSizes:
    """What the script's ``bracket(sizes)`` is given: lengths in mm in the bracket's own plan.

    ``stand_mm``: the pad's underside lies so far above the frame. ``pad_wide_mm``: the pad's
    width along z, half of it on each side of 0. ``top_mm``: the pad's top; no bracket is higher.
    ``pad_holes_mm``: (y, z) of each screw into the pad; its head lies away from the pad.
    ``frame_holes_mm``: (x, z) of each screw into the frame; its head lies on top.
    ``*_screw``: thread; ``*_hole_mm``: diameter of its clearance hole; ``*_washer_mm``: of its
    washer; ``*_head_mm``: how high head and washer stand together.
    """

    stand_mm: float
    pad_wide_mm: float
    top_mm: float
    pad_screw: str
    pad_hole_mm: float
    pad_washer_mm: float
    pad_head_mm: float
    pad_holes_mm: tuple[tuple[float, float], ...]
    frame_screw: str
    frame_hole_mm: float
    frame_washer_mm: float
    frame_head_mm: float
    frame_holes_mm: tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ScriptedBracket:
    """One bracket as its script gave it, its mounting proven.

    ``name``, ``source``: of the script's file. ``sizes``: what it was run with. ``shape``: as
    printed: z of the bracket's own plan is measured from its lowest point, ``middle_mm`` below the
    pad's middle. ``pad_grips_mm``, ``frame_grips_mm``: thickness under each screw's washer, in the
    order of the holes in ``sizes``."""

    name: str
    source: str
    sizes: BracketSizes
    shape: GivenShape
    middle_mm: float
    pad_grips_mm: tuple[float, ...]
    frame_grips_mm: tuple[float, ...]


def sizes_for(pack: Pack) -> BracketSizes:
    """Input of a bracket's script for a pack: the same for each of its mounting pads.

    Raises PlanError when the frame's holes stand closer than their washers.
    """
    check_frame_holes(pack.mount)
    # any: only its sizes count
    pad = MountingPad(side=Side.PLUS_X, face_mm=0.0, along_mm=0.0, underside_mm=0.0)
    small, large = screws()[pad.screw], screws()[pack.mount.screw]
    pad_head = small.washer_high_mm + small.head_high_mm
    # a screw into the frame comes down past the heads of those into the pad
    first = PAD_PLATE_MM + pad_head + large.washer_diameter_mm / 2.0 + TOOL_GAP_MM
    first = math.ceil(first * 2.0) / 2.0  # to half a millimetre: a figure that can be marked out
    along = [u for u, _ in pack.mount.holes_mm]
    nearest = min(v for _, v in pack.mount.holes_mm)
    middle = (min(along) + max(along)) / 2.0
    return BracketSizes(
        stand_mm=STAND_MM,
        pad_wide_mm=PAD_WIDE_MM,
        top_mm=STAND_MM + pad.high_mm,
        pad_screw=pad.screw,
        pad_hole_mm=small.clearance_diameter_mm,
        pad_washer_mm=small.washer_diameter_mm,
        pad_head_mm=pad_head,
        pad_holes_mm=tuple(
            (STAND_MM + pad.up_mm, side * pad.apart_mm / 2.0) for side in (-1.0, 1.0)
        ),
        frame_screw=pack.mount.screw,
        frame_hole_mm=large.clearance_diameter_mm,
        frame_washer_mm=large.washer_diameter_mm,
        frame_head_mm=large.washer_high_mm + large.head_high_mm,
        # the wall's direction to the right, seen from outside, runs against the plan's z
        frame_holes_mm=tuple(
            (v - nearest + first, middle - u + 0.0) for u, v in pack.mount.holes_mm
        ),
    )
