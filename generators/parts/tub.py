"""The tub: floor, walls, columns, pads, board guides and lugs, printed floor down."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from generators.parts.part import Part
from generators.parts.tub_formula import tub_formula_mm3
from generators.solids.drilled import Bore
from generators.solids.profile import Loop, circle, rectangle
from generators.solids.slabs import Body, Inside, Slab, build
from layouts.enclosure_values import EnclosureDesign, Rect

COLOUR = (0.62, 0.64, 0.67)
# A gland's bore ends so far inside the wall, so that no face ends flush with another
OVERSHOOT_MM = 0.5
LEVEL_DIGITS = 6  # heights that differ by less than a nanometre are one


def loop_of(rect: Rect, corner_mm: float = 0.0) -> Loop:
    """A rectangle's outline."""
    return rectangle(rect.x0, rect.y0, rect.x1, rect.y1, corner_mm)


def tub_levels_mm(design: EnclosureDesign) -> dict[str, float]:
    """Heights above the floor's underside at which the tub's features begin or end [mm]."""
    up = design.z_under_mm
    return {
        "floor": design.floor_mm,
        "pad": design.floor_mm + design.pad_floor_mm,
        "lug": max((lug.high_mm for lug in design.lugs), default=design.floor_mm),
        "guide": design.bay.guide_z1_mm - up,
        "slot": design.slot_z0_mm - up,
        "insert": design.z_rim_mm - up - design.insert_deep_mm,
        "rim": design.z_rim_mm - up,
    }


def tub_regions(design: EnclosureDesign) -> dict[str, list[Loop]]:
    """All figures of the tub's plan."""
    bosses = design.bosses
    return {
        "outer": [loop_of(design.outer, design.outer_corner_mm)],
        "cavity": [loop_of(design.cavity)],
        "boss": [circle((b.x_mm, b.y_mm), b.radius_mm) for b in bosses],
        "web": [loop_of(b.web) for b in bosses if b.web is not None],
        "insert": [circle((b.x_mm, b.y_mm), design.insert_mm) for b in bosses if b.screw],
        "pad": [circle((p.x_mm, p.y_mm), p.radius_mm) for p in design.pads_floor],
        "pad_hole": [circle((p.x_mm, p.y_mm), p.hole_mm) for p in design.pads_floor if p.hole_mm],
        "rest": [loop_of(r) for r in design.bay.rests],
        "guide": [loop_of(r) for r in design.bay.guides],
        "lug": [loop_of(design.lug_rect(lug)) for lug in design.lugs],
        "drain": [circle((d.x_mm, d.y_mm), d.radius_mm) for d in design.drains],
        "slot": [loop_of(design.slot_rect(s)) for s in design.slots],
    }


def _material(
    z: float, level: dict[str, float]
) -> Callable[[Inside], NDArray[np.bool_]]:
    """The tub's material at a height."""

    def material(m: Inside) -> NDArray[np.bool_]:
        walls = m["outer"] if z < level["floor"] else m["outer"] & ~m["cavity"]
        if z > level["slot"]:
            walls = walls & ~m["slot"]
        solid = walls | m["boss"] | m["web"]
        if z < level["lug"]:
            solid = solid | m["lug"]
        if level["floor"] < z < level["pad"]:
            solid = solid | (m["pad"] & ~m["pad_hole"]) | m["rest"]
        if level["floor"] < z < level["guide"]:
            solid = solid | m["guide"]
        if z < level["floor"]:
            solid = solid & ~m["drain"]
        if z > level["insert"]:
            solid = solid & ~m["insert"]
        return solid

    return material


def tub_slabs(design: EnclosureDesign) -> list[Slab]:
    """The tub's slabs from below."""
    level = tub_levels_mm(design)
    heights = sorted({0.0, *(round(z, LEVEL_DIGITS) for z in level.values())})
    return [
        Slab(z0, z1, _material((z0 + z1) / 2, level))
        for z0, z1 in zip(heights, heights[1:], strict=False)
    ]


def tub_body(design: EnclosureDesign) -> Body:
    """The tub without its sideways holes, floor's underside on z = 0, plan as in the pack."""
    return build(tub_regions(design), tub_slabs(design))


def tub_bores(design: EnclosureDesign) -> tuple[Bore, ...]:
    """Insert holes in the lugs and the cable glands' holes, from outside."""
    up = design.z_under_mm
    bores = []
    for lug in design.lugs:
        for side in (-0.5, 0.5):
            start = (lug.outward * lug.face_mm, lug.y_mm + side * lug.apart_mm, lug.up_mm)
            bores.append(
                Bore(start, (-float(lug.outward), 0.0, 0.0), design.lug_hole_mm, design.lug_hole_deep_mm)
            )
    for gland in design.glands:
        start = (design.outer.x1, gland.y_mm, gland.z_mm - up)
        deep = design.wall_mm + OVERSHOOT_MM
        bores.append(Bore(start, (-1.0, 0.0, 0.0), gland.hole_mm, deep))
    return tuple(bores)


def tub_part(design: EnclosureDesign) -> Part:
    """The uncut tub, placed by a shift along z."""
    placed = np.eye(4)
    placed[2, 3] = design.z_under_mm
    return Part(
        name="tub",
        role="tub",
        body=tub_body(design),
        bores=tub_bores(design),
        formula_mm3=tub_formula_mm3(design),
        placed=(placed,),
        colour=COLOUR,
        print_note=(
            "floor down, no support: the glands' holes close as round arches. Press the inserts "
            "in hot: those in the columns from above, those in the lugs from outside. Glands and "
            "board go in before the cells"
        ),
    )
