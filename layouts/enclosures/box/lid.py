"""The lid: a plate with screw holes, splash skirts and pads, printed outer face down."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.enclosures.box.seams import lap_levels, offsets_at
from layouts.enclosures.box.sizes import SKIRT_PLAY_MM, EnclosureDesign
from layouts.enclosures.box.tub import (
    LEVEL_DIGITS,
    bores_in,
    ear_bores,
    loop_of,
    mask_loop,
    masked,
    piece_name,
    piece_shapes,
)
from layouts.enclosures.box.tub_formula import box, ear_holes_mm3, has, kept_mm2, mask_of
from layouts.enclosures.covered import rounded_parts
from layouts.parts.part import Part
from layouts.slabs.bore import Bore
from layouts.slabs.profile import Loop, circle, mirrored_x
from layouts.slabs.slabs import Body, Inside, Slab, build

COLOUR = (0.74, 0.76, 0.78)


def lid_regions(design: EnclosureDesign) -> dict[str, list[Loop]]:
    """All figures of the lid's plan, x mirrored as the part is printed."""
    plan = {
        "plate": [
            loop_of(design.outer, design.outer_corner_mm),
            *(circle((b.x_mm, b.y_mm), b.radius_mm) for b in design.bosses),
            *(loop_of(shelf) for shelf in design.shelves),
            *(loop_of(e.plate) for e in design.lid_cut.ears),
        ],
        "hole": [circle((b.x_mm, b.y_mm), design.lid_hole_mm) for b in design.bosses if b.screw],
        "skirt": [loop_of(r) for s in design.skirts for r in design.skirt_rects(s)],
        "ear": [loop_of(e.rect) for e in design.lid_cut.ears],
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
        "ear": design.lid_mm + max((e.z1_mm - e.z0_mm for e in design.lid_cut.ears), default=0.0),
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
        if z < level["ear"]:
            solid = solid | m["ear"]
        return solid

    return material


def lid_body(design: EnclosureDesign, piece: int | None = None) -> Body:
    """The lid, outer face on z = 0, plan with x mirrored; one of its pieces where given."""
    level = lid_levels_mm(design)
    regions = lid_regions(design)
    cuts = [z1 for _, z1, _ in lap_levels(design.lid_mm)] if piece is not None else []
    heights = sorted({0.0, *(round(z, LEVEL_DIGITS) for z in (*level.values(), *cuts))})
    slabs = []
    for z0, z1 in zip(heights, heights[1:], strict=False):
        middle = (z0 + z1) / 2
        material = _material(middle, level)
        if piece is not None:
            offsets = offsets_at(middle, design.lid_mm)
            name = f"piece {offsets}"
            shape = piece_shapes(design, part="lid", offsets=offsets)[piece]
            regions[name] = [mirrored_x(mask_loop(shape))]
            material = masked(material, name)
        slabs.append(Slab(z0, z1, material))
    return build(regions, slabs)


def lid_formula_mm3(design: EnclosureDesign, piece: int | None = None) -> float:
    """Volume of the lid, or of one of its pieces, from its sizes alone [mm3]."""
    o, cut = design.outer, design.lid_cut
    octagon, corners = rounded_parts(o.x0, o.y0, o.x1, o.y1, design.outer_corner_mm)
    discs = [*corners, *((b.x_mm, b.y_mm, b.radius_mm) for b in design.bosses)]
    shapes = [octagon, *(box(shelf) for shelf in design.shelves), *(box(e.plate) for e in cut.ears)]
    total = 0.0
    for z0, z1, offsets in lap_levels(design.lid_mm):
        mask = mask_of(design, cut, piece, part="lid", offsets=offsets)
        total += (z1 - z0) * kept_mm2(shapes, discs, mask)
    mask = mask_of(design, cut, piece, part="lid")
    screwed = [b for b in design.bosses if b.screw and has(mask, b.x_mm, b.y_mm)]
    pads = [p for p in design.pads_lid if has(mask, p.x_mm, p.y_mm)]
    skirts = [s for s in design.skirts if has(mask, *design.skirt_rects(s)[0].centre_mm)]
    t = design.skirt_mm
    ends = 2 * t * (design.skirt_gap_mm - SKIRT_PLAY_MM)
    total += sum(t * (s.y1_mm - s.y0_mm) + ends for s in skirts) * design.skirt_deep_mm
    total += math.pi * sum(p.radius_mm**2 - p.hole_mm**2 for p in pads) * design.pad_lid_mm
    total -= math.pi * len(screwed) * design.lid_hole_mm**2 * design.lid_mm
    for ear in cut.ears:
        if has(mask, *ear.rect.centre_mm):
            high = ear.z1_mm - ear.z0_mm
            wide = ear.rect.size_mm[1 - ear.axis]
            total += ear.thick_mm * wide * high
    return total - math.pi * ear_holes_mm3(design, cut, mask)


def lid_bores(design: EnclosureDesign) -> tuple[Bore, ...]:
    """Holes of the ears, in the part's own coordinates."""
    made = []
    for bore in ear_bores(design, design.lid_cut.ears, 0.0):
        x, y, z = bore.start
        dx, dy, dz = bore.direction
        made.append(
            Bore((-x, y, design.z_lid_mm - z), (-dx, dy, dz), bore.radius_mm, bore.depth_mm)
        )
    return tuple(made)


def lid_placed(design: EnclosureDesign) -> NDArray[np.float64]:
    """(4, 4): half a turn about y, then up, so that the outer face lies on top."""
    placed = np.diag([-1.0, 1.0, -1.0, 1.0])
    placed[2, 3] = design.z_lid_mm
    return placed


def lid_parts(design: EnclosureDesign) -> tuple[Part, ...]:
    """The lid, or its pieces, placed with the outer face on top."""
    cut = design.lid_cut
    shapes = piece_shapes(design, part="lid")
    mirrored = [shapely.transform(shape, lambda xy: xy * (-1.0, 1.0)) for shape in shapes]
    return tuple(
        Part(
            name=piece_name("lid", cut, k),
            role="lid",
            body=lid_body(design, None if cut.pieces == 1 else k),
            bores=bores_in(lid_bores(design), shape),
            formula_mm3=lid_formula_mm3(design, None if cut.pieces == 1 else k),
            placed=(lid_placed(design),),
            colour=COLOUR,
            print_note="outer face down, no support; skirts and pads grow upwards",
        )
        for k, shape in enumerate(mirrored)
    )
