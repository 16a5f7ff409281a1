"""An example of a bracket of one's own: a foot and a plate on the pad, with a cheek at each end.

In the pack file: ``mount: {kind: script, script: saddle_bracket.py}``; then
``cellstead make --allow-scripts FILE``. Lengths in mm; x away from the pad's face, y up, z along
the wall; x = 0 is the pad's face, y = 0 the frame's, z = 0 the pad's middle. Printed z upwards.
"""

from __future__ import annotations

import math

import cadquery as cq

from layouts.brackets.scripted import BracketSizes

THICK = 6.0  # foot, and the plate on the pad
CHEEK = 4.0  # each, beside the washers
BRIDGE = 9.0  # lines over nothing: longer ones sag


def bracket(sizes: BracketSizes) -> cq.Workplane:
    """One bracket for the holes that ``sizes`` names."""
    pad_half, frame_half = sizes.pad_washer_mm / 2, sizes.frame_washer_mm / 2
    sides = [abs(z) + pad_half for _, z in sizes.pad_holes_mm]
    sides += [abs(z) + frame_half for _, z in sizes.frame_holes_mm]
    half = max(sides) + 1 + CHEEK
    long = max(x for x, _ in sizes.frame_holes_mm) + frame_half + 3
    high = sizes.top_mm

    def upright(start: float) -> cq.Workplane:
        return cq.Workplane("XY").workplane(offset=start)

    foot = upright(-half).rect(long, THICK, centered=False).extrude(2 * half)
    plate = upright(-half).rect(THICK, high, centered=False).extrude(2 * half)
    # printed upwards, this one lies on the bed ...
    cheek = (
        upright(-half)
        .moveTo(0, 0)
        .lineTo(long, 0)
        .lineTo(long, THICK)
        .threePointArc((THICK + 8, THICK + 8), (THICK, high))
        .lineTo(0, high)
        .close()
        .extrude(CHEEK)
    )
    # ... and this one hangs: its longest line goes from foot to plate across the corner
    leg = BRIDGE / math.sqrt(2)
    gusset = upright(half - CHEEK).polyline(
        [(0, 0), (THICK + leg, 0), (THICK + leg, THICK), (THICK, THICK + leg), (0, THICK + leg)]
    )
    whole = foot.union(plate).union(cheek).union(gusset.close().extrude(CHEEK))
    for y, z in sizes.pad_holes_mm:
        hole = cq.Workplane("YZ").center(y, z).circle(sizes.pad_hole_mm / 2).extrude(THICK)
        whole = whole.cut(hole)
    for x, z in sizes.frame_holes_mm:
        hole = cq.Workplane("XZ").center(x, z).circle(sizes.frame_hole_mm / 2).extrude(-THICK)
        whole = whole.cut(hole)
    return whole
