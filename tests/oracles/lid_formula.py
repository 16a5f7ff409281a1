"""The lid's volume from its sizes alone."""

from __future__ import annotations

import math

from layouts.enclosures.box.sizes import SKIRT_PLAY_MM, EnclosureDesign
from layouts.enclosures.laps import lap_levels
from tests.oracles.covered import rounded_parts
from tests.oracles.tub_formula import box, flange_holes_mm3, has, kept_mm2, mask_of


def lid_formula_mm3(design: EnclosureDesign, piece: int | None = None) -> float:
    """Volume of the lid, or of one of its pieces, from its sizes alone [mm3]."""
    o, seams = design.outer, design.lid_seams
    octagon, corners = rounded_parts(o.x0, o.y0, o.x1, o.y1, design.outer_corner_mm)
    discs = [*corners, *((b.x_mm, b.y_mm, b.radius_mm) for b in design.bosses)]
    shapes = [
        octagon,
        *(box(shelf) for shelf in design.shelves),
        *(box(e.plate) for e in seams.flanges),
    ]
    total = 0.0
    for z0, z1, offsets in lap_levels(design.lid_mm, design.layer_mm):
        mask = mask_of(design, seams, piece, part="lid", offsets=offsets)
        total += (z1 - z0) * kept_mm2(shapes, discs, mask)
    mask = mask_of(design, seams, piece, part="lid")
    screwed = [b for b in design.bosses if b.screw and has(mask, b.x_mm, b.y_mm)]
    support_pads = [p for p in design.support_pads_lid if has(mask, p.x_mm, p.y_mm)]
    skirts = [s for s in design.skirts if has(mask, *design.skirt_rects(s)[0].centre_mm)]
    t = design.skirt_mm
    ends = 2 * t * (design.skirt_gap_mm - SKIRT_PLAY_MM)
    total += sum(t * (s.y1_mm - s.y0_mm) + ends for s in skirts) * design.skirt_deep_mm
    total += (
        math.pi
        * sum(p.radius_mm**2 - p.hole_radius_mm**2 for p in support_pads)
        * design.support_pad_lid_mm
    )
    total -= math.pi * len(screwed) * design.lid_hole_radius_mm**2 * design.lid_mm
    for flange in seams.flanges:
        if has(mask, *flange.rect.centre_mm):
            high = flange.z1_mm - flange.z0_mm
            wide = flange.rect.size_mm[1 - flange.axis]
            total += flange.thick_mm * wide * high
    return total - math.pi * flange_holes_mm3(design, seams, mask)
