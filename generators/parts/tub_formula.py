"""The tub's volume from its sizes alone, sharing nothing with the way its body is made.

At each height the plan is walls and what stands out from them or inside. With F all that
stands (columns, webs, lugs, guides, pads), O the outer figure and C the cavity:
area = area(O and F) + area(F) - area(F and C), each "and" counted once (plane geometry).
"""

from __future__ import annotations

import math

import shapely

from layouts.covered import covered_area_mm2, rounded_parts
from layouts.enclosure_values import EnclosureDesign, Rect


def _box(rect: Rect) -> shapely.Polygon:
    return shapely.box(rect.x0, rect.y0, rect.x1, rect.y1)


def standing_area_mm2(
    design: EnclosureDesign, *, lugs: bool, guides: bool, pads: bool
) -> float:
    """Area of walls and all that stands at a height, holes not taken off [mm2]."""
    shapes = [_box(b.web) for b in design.bosses if b.web is not None]
    discs = [(b.x_mm, b.y_mm, b.radius_mm) for b in design.bosses]
    if lugs:
        shapes += [_box(design.lug_rect(lug)) for lug in design.lugs]
    if guides:
        shapes += [_box(g) for g in design.bay.guides]
    if pads:
        shapes += [_box(r) for r in design.bay.rests]
        discs += [(p.x_mm, p.y_mm, p.radius_mm) for p in design.pads_floor]
    o = design.outer
    octagon, corners = rounded_parts(o.x0, o.y0, o.x1, o.y1, design.outer_corner_mm)
    cavity = _box(design.cavity)
    return (
        covered_area_mm2([octagon, *shapes], [*corners, *discs])
        + covered_area_mm2(shapes, discs)
        - covered_area_mm2([cavity, *shapes], discs)
    )


def tub_formula_mm3(design: EnclosureDesign) -> float:
    """Volume of the finished tub, its bores taken off [mm3]."""
    o = design.outer
    octagon, corners = rounded_parts(o.x0, o.y0, o.x1, o.y1, design.outer_corner_mm)
    columns = [(b.x_mm, b.y_mm, b.radius_mm) for b in design.bosses]
    webs = [_box(b.web) for b in design.bosses if b.web is not None]
    pads = [_box(design.lug_rect(lug)) for lug in design.lugs]
    floor = covered_area_mm2([octagon, *webs, *pads], [*corners, *columns])
    floor -= math.pi * sum(d.radius_mm**2 for d in design.drains)
    total = floor * design.floor_mm

    high = design.z_rim_mm - design.z_under_mm
    lug_high = max((lug.high_mm for lug in design.lugs), default=0.0)
    pad_high = design.floor_mm + design.pad_floor_mm
    guide_high = design.bay.guide_z1_mm - design.z_under_mm
    stops = sorted({design.floor_mm, pad_high, guide_high, high, max(lug_high, design.floor_mm)})
    for low, top in zip(stops, stops[1:], strict=False):
        middle = (low + top) / 2
        total += (top - low) * standing_area_mm2(
            design, lugs=middle < lug_high, guides=middle < guide_high, pads=middle < pad_high
        )
    rings = sum(p.hole_mm**2 for p in design.pads_floor)
    inserts = sum(1 for b in design.bosses if b.screw) * design.insert_mm**2
    slots = sum(s.y1_mm - s.y0_mm for s in design.slots) * design.wall_mm
    lug_holes = 2 * len(design.lugs) * design.lug_hole_mm**2 * design.lug_hole_deep_mm
    glands = sum(g.hole_mm**2 for g in design.glands) * design.wall_mm
    return (
        total
        - math.pi * (rings * design.pad_floor_mm + inserts * design.insert_deep_mm)
        - slots * (design.z_rim_mm - design.slot_z0_mm)
        - math.pi * (lug_holes + glands)
    )
