"""The tub's volume from its sizes alone, sharing nothing with the way its body is made.

At each height the plan is walls and what stands out from them or inside. With F all that stands
(columns, webs, mounting pads, flanges, guides, pads), O the outer figure and C the cavity: area =
area(O and F) + area(F) - area(F and C), each "and" counted once (plane geometry). A piece counts
what of it lies on its side of the seams; no seam meets anything round."""

from __future__ import annotations

import math
from collections.abc import Iterable

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.box.seams import masks
from layouts.enclosures.box.sizes import EnclosureDesign, SeamDesign
from layouts.enclosures.laps import STRAIGHT, Offsets, lap_levels, offsets_at
from layouts.parts.shell import Rect
from tests.oracles.covered import covered_area_mm2, rounded_parts

Disc = tuple[float, float, float]


def box(rect: Rect) -> shapely.Polygon:
    """A rectangle as a shape."""
    return shapely.box(rect.x0, rect.y0, rect.x1, rect.y1)


def has(mask: BaseGeometry | None, x: float, y: float) -> bool:
    """A piece holds that point; the whole part holds all."""
    return mask is None or bool(shapely.contains_xy(mask, x, y))


def kept_mm2(
    shapes: Iterable[BaseGeometry], discs: Iterable[Disc], mask: BaseGeometry | None
) -> float:
    """Covered area on a piece's side of the seams [mm2]."""
    if mask is None:
        return covered_area_mm2(shapes, discs)
    return covered_area_mm2(
        [shape.intersection(mask) for shape in shapes],
        [d for d in discs if shapely.contains_xy(mask, d[0], d[1])],
    )


def mask_of(
    design: EnclosureDesign,
    seams: SeamDesign,
    piece: int | None,
    *,
    part: str,
    offsets: Offsets = STRAIGHT,
) -> BaseGeometry | None:
    """A piece's share of the plan; None for the whole part."""
    if piece is None:
        return None
    shapes = masks(seams, design.cavity, part=part, wall_mm=design.wall_mm, offsets=offsets)
    return shapes[piece]


def _layer_mm2(design: EnclosureDesign, z: float, mask: BaseGeometry | None) -> float:
    """Area at a height above the floor's underside, round holes and slots not taken off."""
    up = design.z_under_mm
    shapes = [box(b.web) for b in design.bosses if b.web is not None]
    discs = [(b.x_mm, b.y_mm, b.radius_mm) for b in design.bosses]
    shapes += [box(design.pad_rect(pad)) for pad in design.pads if z < pad.high_mm]
    if z < design.block_top_mm - up:
        shapes += [box(design.block_rect(pad)) for pad in design.pads if pad.block_mm]
    shapes += [box(e.rect) for e in design.tub_seams.flanges if z < e.z1_mm - up]
    o = design.outer
    octagon, corners = rounded_parts(o.x0, o.y0, o.x1, o.y1, design.outer_corner_mm)
    if z < design.floor_mm:
        return kept_mm2([octagon, *shapes], [*corners, *discs], mask)
    if z < design.bay.guide_z1_mm - up:
        shapes += [box(g) for g in design.bay.guides]
    shapes += [box(post.block) for post in design.tie_posts if z < post.z1_mm - up]
    shapes += [box(t.foot) for t in design.tie_posts if t.foot and z < t.foot_z1_mm - up]
    if z < design.floor_mm + design.support_pad_floor_mm:
        shapes += [box(r) for r in design.bay.rests]
        discs += [(p.x_mm, p.y_mm, p.radius_mm) for p in design.support_pads_floor]
    return (
        kept_mm2([octagon, *shapes], [*corners, *discs], mask)
        + kept_mm2(shapes, discs, mask)
        - kept_mm2([box(design.cavity), *shapes], discs, mask)
    )


def tub_formula_mm3(design: EnclosureDesign, piece: int | None = None) -> float:
    """Volume of the finished tub or of one of its pieces, its bores taken off [mm3]."""
    up, seams = design.z_under_mm, design.tub_seams
    high = design.z_rim_mm - up
    stops = {0.0, design.floor_mm, design.floor_mm + design.support_pad_floor_mm, high}
    stops |= {design.bay.guide_z1_mm - up, design.block_top_mm - up}
    stops |= {pad.high_mm for pad in design.pads} | {e.z1_mm - up for e in seams.flanges}
    stops |= {round(z - up, 6) for post in design.tie_posts for z in (post.z1_mm, post.foot_z1_mm)}
    stops |= {z for _, z, _ in lap_levels(design.floor_mm, design.layer_mm)}
    levels = sorted(stops)
    total = 0.0
    for low, top in zip(levels, levels[1:], strict=False):
        z = (low + top) / 2
        offsets = offsets_at(z, design.floor_mm, design.layer_mm)
        mask = mask_of(design, seams, piece, part="tub", offsets=offsets)
        total += (top - low) * _layer_mm2(design, z, mask)

    mask = mask_of(design, seams, piece, part="tub")
    support_pads = [p for p in design.support_pads_floor if has(mask, p.x_mm, p.y_mm)]
    screwed = [b for b in design.bosses if b.screw and has(mask, b.x_mm, b.y_mm)]
    drains = [d for d in design.drains if has(mask, d.x_mm, d.y_mm)]
    slots = [s for s in design.slots if has(mask, *design.slot_rect(s).centre_mm)]
    pads = [g for g in design.pads if has(mask, *box(design.pad_rect(g)).centroid.coords[0])]
    glands = [g for g in design.glands if has(mask, design.outer.x1, g.y_mm)]
    posts = [t for t in design.tie_posts if has(mask, *t.block.centre_mm)]
    round_mm3 = (
        sum(p.hole_radius_mm**2 for p in support_pads) * design.support_pad_floor_mm
        + len(screwed) * design.insert_radius_mm**2 * design.insert_deep_mm
        + sum(d.radius_mm**2 for d in drains) * design.floor_mm
        + 2 * len(pads) * design.pad_hole_radius_mm**2 * design.pad_hole_deep_mm
        + sum(g.hole_radius_mm**2 for g in glands) * design.wall_mm
        + sum(t.hole_radius_mm**2 * t.block.size_mm[1] for t in posts)
        + flange_holes_mm3(design, seams, mask)
    )
    cut_out = sum(s.y1_mm - s.y0_mm for s in slots) * design.wall_mm
    return total - math.pi * round_mm3 - cut_out * (design.z_rim_mm - design.slot_z0_mm)


def flange_holes_mm3(
    design: EnclosureDesign, seams: SeamDesign, mask: BaseGeometry | None
) -> float:
    """Screw and insert holes in the flanges of a piece, over pi [mm3]."""
    total = 0.0
    for flange in seams.flanges:
        if has(mask, *flange.rect.centre_mm):
            each = (
                design.insert_radius_mm**2 * design.insert_deep_mm
                if flange.insert
                else design.lid_hole_radius_mm**2 * flange.thick_mm
            )
            total += len(flange.screws) * each
    return total
