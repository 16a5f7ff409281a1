"""The lid: a plate with screw holes, drip skirts and pads, printed outer face down."""

from __future__ import annotations

from dataclasses import replace

import shapely

from layouts.enclosures.box.sizes import EnclosureDesign
from layouts.enclosures.box.tub import (
    bores_in,
    flange_bores,
    piece_features,
    piece_name,
    piece_shapes,
)
from layouts.enclosures.printed import FIELD, LEVEL_DIGITS, LID_COLOUR, lid_placed, loop_of
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.feature import Effect, Feature
from layouts.parts.part import Part
from layouts.slabs.bore import Bore
from layouts.slabs.profile import Loop, circle, mirrored_x

# Regions in the order in which their vertices are numbered
ORDER = ("plate", "hole", "skirt", "ear", "pad", "pad_hole")


def lid_regions(design: EnclosureDesign) -> dict[str, list[Loop]]:
    """All figures of the lid's plan, x mirrored as the part is printed."""
    plan = {
        "plate": [
            loop_of(design.outer, design.outer_corner_mm),
            *(circle((b.x_mm, b.y_mm), b.radius_mm) for b in design.bosses),
            *(loop_of(shelf) for shelf in design.shelves),
            *(loop_of(e.plate) for e in design.lid_seams.flanges),
        ],
        "hole": [
            circle((b.x_mm, b.y_mm), design.lid_hole_radius_mm) for b in design.bosses if b.screw
        ],
        "skirt": [loop_of(r) for s in design.skirts for r in design.skirt_rects(s)],
        "ear": [loop_of(e.rect) for e in design.lid_seams.flanges],
        "pad": [circle((p.x_mm, p.y_mm), p.radius_mm) for p in design.support_pads_lid],
        "pad_hole": [
            circle((p.x_mm, p.y_mm), p.hole_radius_mm)
            for p in design.support_pads_lid
            if p.hole_radius_mm
        ],
    }
    return {name: [mirrored_x(loop) for loop in loops] for name, loops in plan.items()}


def lid_levels_mm(design: EnclosureDesign) -> dict[str, float]:
    """Heights above the outer face at which the lid's features end [mm]."""
    levels = {
        "plate": design.lid_mm,
        "pad": design.lid_mm + (design.support_pad_lid_mm if design.support_pads_lid else 0.0),
        "skirt": design.lid_mm + (design.skirt_deep_mm if design.skirts else 0.0),
        "ear": design.lid_mm
        + max((e.z1_mm - e.z0_mm for e in design.lid_seams.flanges), default=0.0),
    }
    return {name: round(z, LEVEL_DIGITS) for name, z in levels.items()}


def lid_features(design: EnclosureDesign, piece: int | None = None) -> tuple[Feature, ...]:
    """The lid's features in their order; ``piece``: one of those it is printed in."""
    regions, level = lid_regions(design), lid_levels_mm(design)
    plate = level["plate"]

    def one(name: str, z0_mm: float, z1_mm: float, effect: Effect = Effect.ADD) -> Feature:
        return Feature(
            name=name, loops=tuple(regions[name]), z0_mm=z0_mm, z1_mm=z1_mm, effect=effect
        )

    return (
        one("plate", 0.0, plate),
        one("hole", 0.0, plate, Effect.CUT),
        one("pad", plate, level["pad"]),
        one("pad_hole", plate, level["pad"], Effect.CUT),
        one("skirt", plate, level["skirt"]),
        one("ear", plate, level["ear"]),
        *(
            ()
            if piece is None
            else piece_features(design, piece, part="lid", high_mm=max(level.values()))
        ),
    )


def lid_drawing(design: EnclosureDesign, piece: int | None = None) -> Drawing:
    """The lid, outer face on z = 0, plan with x mirrored; one of its pieces where given."""
    features = lid_features(design, piece)
    bores = lid_bores(design)
    if piece is not None:
        shape = piece_shapes(design, part="lid")[piece]
        bores = bores_in(bores, shapely.transform(shape, lambda xy: xy * (-1.0, 1.0)))
    return drawing_of(
        features,
        part="lid",
        field=FIELD,
        bores=bores,
        order=ORDER,
    )


def lid_bores(design: EnclosureDesign) -> tuple[Bore, ...]:
    """Holes of the joining flanges, in the part's own coordinates."""
    made = []
    for bore in flange_bores(design, design.lid_seams.flanges, 0.0):
        x, y, z = bore.start
        dx, dy, dz = bore.direction
        made.append(replace(bore, start=(-x, y, design.z_lid_mm - z), direction=(-dx, dy, dz)))
    return tuple(made)


def lid_parts(design: EnclosureDesign) -> tuple[Part, ...]:
    """The lid, or its pieces, placed with the outer face on top."""
    seams = design.lid_seams
    return tuple(
        Part(
            name=piece_name("lid", seams, k),
            role="lid",
            field=FIELD,
            drawing=lid_drawing(design, None if seams.pieces == 1 else k),
            placed=(lid_placed(design.z_lid_mm),),
            colour=LID_COLOUR,
            print_note="outer face down, no support; drip skirts and pads print upwards",
        )
        for k in range(seams.pieces)
    )
