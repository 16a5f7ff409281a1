"""Sizes of the angle bracket that follow from its screws: width, fillet, first hole of the foot."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.frame_holes import TOOL_GAP_MM
from layouts.brackets.kind import MountingPad
from layouts.errors import PlanError
from layouts.formats import screws
from layouts.pack import Mount
from layouts.parts.whole_layers import layers_up_mm

__all__ = [
    "EDGE_MM", "RIB_BACK_MM", "RIB_LONG_MM", "RIB_MM", "bracket_matrix", "bracket_width_mm",
    "fillet_mm", "first_hole_mm",
]  # fmt: skip

# All of these are common practice, no source
RIB_MM = 4.0  # each gusset: ten lines of a 0.4 nozzle
FILLET_MM = 3.0  # inside corner, as far as the washers of the pad screws allow
RIB_BACK_MM = 3.0  # a rib ends so far before the ends of leg and foot
RIB_LONG_MM = 17.0  # along foot and leg at most
RIB_GAP_MM = 1.0  # between a washer and a rib: that bridge may sag
EDGE_MM = 2.0  # between a washer and the end of the foot


def fillet_mm(pad_screw: str, *, up_mm: float, thick_mm: float) -> float:
    """Inside corner under the washers of the pad screws, ``up_mm`` above the foot's underside."""
    return min(FILLET_MM, up_mm - screws()[pad_screw].washer_diameter_mm / 2.0 - thick_mm)


def first_hole_mm(pad_screw: str, frame_screw: str, *, fillet: float) -> float:
    """Least distance of a foot's hole from the leg's face away from the pad.

    A foot screw comes down past the heads of the pad screws; its washer lies off the fillet."""
    small, large = screws()[pad_screw], screws()[frame_screw]
    past_heads = small.washer_high_mm + small.head_high_mm + large.head_diameter_mm / 2.0
    near = max(fillet + large.washer_diameter_mm / 2.0, past_heads) + TOOL_GAP_MM
    return math.ceil(near * 2.0) / 2.0  # to half a millimetre: a figure that can be marked out


def bracket_width_mm(
    mount: Mount, *, layer_mm: float, apart_mm: float = 20.0, screw: str = "M4"
) -> float:
    """Width along the wall: the wider row of washers, clearance beside them, and the ribs, in
    whole layers of ``layer_mm``.

    ``apart_mm`` and ``screw`` are the mounting pad's. Raises PlanError when the frame has no hole.
    """
    along = [u for u, _ in mount.holes_mm]
    if not along:
        raise PlanError(
            field="mount.holes_mm", why="no frame hole is given", remedy="give one or more"
        )
    pad_row = apart_mm + screws()[screw].washer_diameter_mm
    foot_row = max(along) - min(along) + screws()[mount.screw].washer_diameter_mm
    ribs = 2.0 * (RIB_GAP_MM + layers_up_mm(RIB_MM, layer_mm))
    return layers_up_mm(max(pad_row, foot_row) + ribs, layer_mm)


def bracket_matrix(pad: MountingPad, *, width_mm: float) -> NDArray[np.float64]:
    """(4, 4) from the bracket's plan to the pack: leg on the mounting pad, middle on its middle."""
    (x, y), (right_x, right_y) = pad.middle_mm, pad.right
    half = width_mm / 2.0
    matrix = np.eye(4)
    matrix[:3, 0] = *pad.normal, 0.0  # away from the wall
    matrix[:3, 1] = 0.0, 0.0, 1.0  # up
    # along the wall to the left, so that nothing is mirrored
    matrix[:3, 2] = 0.0 - right_x, 0.0 - right_y, 0.0
    matrix[:3, 3] = x + right_x * half, y + right_y * half, pad.underside_mm
    return matrix
