"""The lid: a plate with screw holes, splash skirts and pads, printed outer face down."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import shapely
from numpy.typing import NDArray

from generators.parts.part import Part
from generators.parts.tub import LEVEL_DIGITS, loop_of
from generators.solids.profile import Loop, circle, mirrored_x
from generators.solids.slabs import Body, Inside, Slab, build
from layouts.covered import covered_area_mm2, rounded_parts
from layouts.enclosure_values import SKIRT_PLAY_MM, EnclosureDesign, Rect

COLOUR = (0.74, 0.76, 0.78)


def lid_regions(design: EnclosureDesign) -> dict[str, list[Loop]]:
    """All figures of the lid's plan, x mirrored as the part is printed."""
    plan = {
        "plate": [
            loop_of(design.outer, design.outer_corner_mm),
            *(circle((b.x_mm, b.y_mm), b.radius_mm) for b in design.bosses),
            *(loop_of(shelf) for shelf in design.shelves),
        ],
        "hole": [circle((b.x_mm, b.y_mm), design.lid_hole_mm) for b in design.bosses if b.screw],
        "skirt": [loop_of(r) for s in design.skirts for r in design.skirt_rects(s)],
        "pad": [circle((p.x_mm, p.y_mm), p.radius_mm) for p in design.pads_lid],
        "pad_hole": [circle((p.x_mm, p.y_mm), p.hole_mm) for p in design.pads_lid if p.hole_mm],
    }
    return {name: [mirrored_x(loop) for loop in loops] for name, loops in plan.items()}


def lid_levels_mm(design: EnclosureDesign) -> dict[str, float]:
    """Heights above the outer face at which the lid's features end [mm]."""
    return {
        "plate": design.lid_mm,
        "pad": design.lid_mm + (design.pad_lid_mm if design.pads_lid else 0.0),
        "skirt": design.lid_mm + (design.skirt_deep_mm if design.skirts else 0.0),
    }


def _material(z: float, level: dict[str, float]) -> Callable[[Inside], NDArray[np.bool_]]:
    """The lid's material at a height."""

    def material(m: Inside) -> NDArray[np.bool_]:
        if z < level["plate"]:
            return np.asarray(m["plate"] & ~m["hole"])
        solid = np.zeros_like(m["plate"])
        if z < level["pad"]:
            solid = solid | (m["pad"] & ~m["pad_hole"])
        if z < level["skirt"]:
            solid = solid | m["skirt"]
        return solid

    return material


def lid_slabs(design: EnclosureDesign) -> list[Slab]:
    """The lid's slabs from below."""
    level = lid_levels_mm(design)
    heights = sorted({0.0, *(round(z, LEVEL_DIGITS) for z in level.values())})
    return [
        Slab(z0, z1, _material((z0 + z1) / 2, level))
        for z0, z1 in zip(heights, heights[1:], strict=False)
    ]


def lid_body(design: EnclosureDesign) -> Body:
    """The lid, outer face on z = 0, plan with x mirrored."""
    return build(lid_regions(design), lid_slabs(design))


def lid_formula_mm3(design: EnclosureDesign) -> float:
    """Volume of the lid from its sizes alone [mm3]."""
    o = design.outer
    octagon, corners = rounded_parts(o.x0, o.y0, o.x1, o.y1, design.outer_corner_mm)
    columns = [(b.x_mm, b.y_mm, b.radius_mm) for b in design.bosses]
    shelves = [_box(shelf) for shelf in design.shelves]
    plate = covered_area_mm2([octagon, *shelves], [*corners, *columns])
    plate -= sum(1 for b in design.bosses if b.screw) * math.pi * design.lid_hole_mm**2
    t = design.skirt_mm
    ends = 2 * t * (design.skirt_gap_mm - SKIRT_PLAY_MM)
    skirts = sum(t * (s.y1_mm - s.y0_mm) + ends for s in design.skirts)
    pads = math.pi * sum(p.radius_mm**2 - p.hole_mm**2 for p in design.pads_lid)
    return plate * design.lid_mm + skirts * design.skirt_deep_mm + pads * design.pad_lid_mm


def lid_placed(design: EnclosureDesign) -> NDArray[np.float64]:
    """(4, 4): half a turn about y, then up, so that the outer face lies on top."""
    placed = np.diag([-1.0, 1.0, -1.0, 1.0])
    placed[2, 3] = design.z_lid_mm
    return placed


def lid_part(design: EnclosureDesign) -> Part:
    """The uncut lid."""
    return Part(
        name="lid",
        role="lid",
        body=lid_body(design),
        formula_mm3=lid_formula_mm3(design),
        placed=(lid_placed(design),),
        colour=COLOUR,
        print_note="outer face down, no support; skirts and pads grow upwards",
    )


def _box(rect: Rect) -> shapely.Polygon:
    return shapely.box(rect.x0, rect.y0, rect.x1, rect.y1)
