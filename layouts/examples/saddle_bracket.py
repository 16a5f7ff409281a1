"""An example of a bracket of one's own: two hollowed cheeks between a foot and a plate on the pad.

In the pack file: ``mount: {kind: script, script: saddle_bracket.py}``; then
``cellstead make --allow-scripts FILE``. Lengths in mm; x away from the pad's face, y up, z along
the wall; x = 0 is the pad's face, y = 0 the frame's, z = 0 the pad's middle. Printed z upwards.
"""

from __future__ import annotations

import cadquery as cq

from layouts.brackets.scripted import BracketSizes

THICK = 6.0  # foot, and the plate on the pad
CHEEK = 4.0  # each, beside the washers


def bracket(sizes: BracketSizes) -> cq.Workplane:
    """One bracket for the holes that ``sizes`` names."""
    washers = [(z, sizes.pad_washer_mm) for _, z in sizes.pad_holes_mm]
    washers += [(z, sizes.frame_washer_mm) for _, z in sizes.frame_holes_mm]
    half = max(abs(z) + washer / 2 for z, washer in washers) + 1 + CHEEK
    long = max(x for x, _ in sizes.frame_holes_mm) + sizes.frame_washer_mm / 2 + 3
    high = sizes.top_mm

    def upright(wide: float) -> cq.Workplane:
        return cq.Workplane("XY").workplane(offset=wide)

    foot = upright(-half).rect(long, THICK, centered=False).extrude(2 * half)
    plate = upright(-half).rect(THICK, high, centered=False).extrude(2 * half)
    whole = foot.union(plate)
    for side in (-half, half - CHEEK):
        cheek = (
            upright(side)
            .moveTo(0, 0)
            .lineTo(long, 0)
            .lineTo(long, THICK)
            .threePointArc((THICK + 8, THICK + 8), (THICK, high))
            .lineTo(0, high)
            .close()
            .extrude(CHEEK)
        )
        whole = whole.union(cheek)
    for y, z in sizes.pad_holes_mm:
        hole = cq.Workplane("YZ").center(y, z).circle(sizes.pad_hole_mm / 2).extrude(THICK)
        whole = whole.cut(hole)
    for x, z in sizes.frame_holes_mm:
        hole = cq.Workplane("XZ").center(x, z).circle(sizes.frame_hole_mm / 2).extrude(-THICK)
        whole = whole.cut(hole)
    return whole
