"""The tub: floor, walls, bosses, pads, board guides and mounting pads, printed floor down."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.box.seams import masks
from layouts.enclosures.box.sizes import EnclosureDesign, JoiningFlange, SeamDesign
from layouts.enclosures.laps import STRAIGHT, Offsets, lap_levels
from layouts.enclosures.printed import FIELD, LEVEL_DIGITS, TUB_COLOUR, loop_of
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.feature import Effect, Feature
from layouts.parts.part import Part
from layouts.slabs.bore import Bore, through
from layouts.slabs.profile import Loop, circle, mirrored_x, polygon

# Regions in the order in which their vertices are numbered
ORDER = (
    "outer", "cavity", "boss", "web", "insert", "pad", "pad_hole", "rest", "guide", "lug", "block",
    "ear", "drain", "slot",
)  # fmt: skip
MASK_ROUND_MM = 5.0  # pieces' masks end so far round the part


def tub_levels_mm(design: EnclosureDesign) -> dict[str, float]:
    """Heights above the floor's underside at which the tub's features begin or end [mm]."""
    up = design.z_under_mm
    levels = {
        "floor": design.floor_mm,
        "pad": design.floor_mm + design.support_pad_floor_mm,
        "lug": max((pad.high_mm for pad in design.pads), default=design.floor_mm),
        "block": design.block_top_mm - up,
        "guide": design.bay.guide_z1_mm - up,
        "ear": max((e.z1_mm for e in design.tub_seams.flanges), default=up) - up,
        "slot": design.slot_z0_mm - up,
        "insert": design.z_rim_mm - up - design.insert_deep_mm,
        "rim": design.z_rim_mm - up,
    }
    return {name: round(z, LEVEL_DIGITS) for name, z in levels.items()}


def tub_regions(design: EnclosureDesign) -> dict[str, list[Loop]]:
    """All figures of the tub's plan."""
    bosses = design.bosses
    return {
        "outer": [loop_of(design.outer, design.outer_corner_mm)],
        "cavity": [loop_of(design.cavity)],
        "boss": [circle((b.x_mm, b.y_mm), b.radius_mm) for b in bosses],
        "web": [loop_of(b.web) for b in bosses if b.web is not None],
        "insert": [circle((b.x_mm, b.y_mm), design.insert_radius_mm) for b in bosses if b.screw],
        "pad": [circle((p.x_mm, p.y_mm), p.radius_mm) for p in design.support_pads_floor],
        "pad_hole": [
            circle((p.x_mm, p.y_mm), p.hole_radius_mm)
            for p in design.support_pads_floor
            if p.hole_radius_mm
        ],
        "rest": [loop_of(r) for r in design.bay.rests],
        "guide": [loop_of(r) for r in design.bay.guides],
        "lug": [loop_of(design.pad_rect(pad)) for pad in design.pads],
        "block": [loop_of(design.block_rect(pad)) for pad in design.pads if pad.block_mm],
        "ear": [loop_of(e.rect) for e in design.tub_seams.flanges],
        "drain": [circle((d.x_mm, d.y_mm), d.radius_mm) for d in design.drains],
        "slot": [loop_of(design.slot_rect(s)) for s in design.slots],
    }


def tub_features(design: EnclosureDesign, piece: int | None = None) -> tuple[Feature, ...]:
    """The tub's features in their order; ``piece``: one of those it is printed in."""
    regions, level = tub_regions(design), tub_levels_mm(design)
    floor, rim = level["floor"], level["rim"]

    def one(name: str, z0_mm: float, z1_mm: float, effect: Effect = Effect.ADD) -> Feature:
        return Feature(
            name=name, loops=tuple(regions[name]), z0_mm=z0_mm, z1_mm=z1_mm, effect=effect
        )

    return (
        one("outer", 0.0, rim),
        one("cavity", floor, rim, Effect.CUT),
        one("slot", level["slot"], rim, Effect.CUT),
        one("boss", 0.0, rim),
        one("web", 0.0, rim),
        one("lug", 0.0, level["lug"]),
        one("block", 0.0, level["block"]),  # a block wider than its pad would hang over it
        one("ear", 0.0, level["ear"]),
        one("pad", floor, level["pad"]),
        one("pad_hole", floor, level["pad"], Effect.CUT),
        one("rest", floor, level["pad"]),
        one("guide", floor, level["guide"]),
        *tie_post_features(design),
        one("drain", 0.0, floor, Effect.CUT),
        one("insert", level["insert"], rim, Effect.CUT),
        *(() if piece is None else piece_features(design, piece, part="tub", high_mm=rim)),
    )


def tie_post_features(design: EnclosureDesign) -> Iterator[Feature]:
    """Posts that leads are tied to, each with its foot into the wall."""
    up = design.z_under_mm
    for k, post in enumerate(design.tie_posts):
        figures = [("tie post", post.block, post.z1_mm)]
        if post.foot is not None:
            figures.append(("tie foot", post.foot, post.foot_z1_mm))
        for name, rect, z1 in figures:
            yield Feature(
                name=f"{name} {k}", loops=(loop_of(rect),), z0_mm=design.floor_mm,
                z1_mm=round(z1 - up, LEVEL_DIGITS),
            )  # fmt: skip


def piece_shapes(
    design: EnclosureDesign, *, part: str, offsets: Offsets = STRAIGHT
) -> tuple[BaseGeometry, ...]:
    """What each piece of tub or lid keeps of the plan; one shape over all where it is whole.

    ``offsets``: of the floor's (plate's) seam line at this height. Clipped round the part.
    """
    seams = design.tub_seams if part == "tub" else design.lid_seams
    whole = (design.tub_box if part == "tub" else design.lid_box).grown(MASK_ROUND_MM)
    clip = shapely.box(*whole.bounds)
    if seams.pieces == 1:
        return (clip,)
    shapes = masks(seams, design.cavity, part=part, wall_mm=design.wall_mm, offsets=offsets)
    return tuple(shape.intersection(clip) for shape in shapes)


def mask_loop(shape: BaseGeometry) -> Loop:
    """A piece's mask as a loop."""
    return polygon([(float(x), float(y)) for x, y in shape.exterior.coords[:-1]])


def piece_features(
    design: EnclosureDesign, piece: int, *, part: str, high_mm: float
) -> tuple[Feature, ...]:
    """What a piece keeps of tub or lid, from the bed up: laps in the floor or plate, then walls."""
    thick = design.floor_mm if part == "tub" else design.lid_mm
    found = []
    for z0, z1, offsets in (*lap_levels(thick, design.layer_mm), (thick, high_mm, STRAIGHT)):
        loop = mask_loop(piece_shapes(design, part=part, offsets=offsets)[piece])
        found.append(
            Feature(
                name=f"piece {offsets}",
                loops=(loop if part == "tub" else mirrored_x(loop),),
                z0_mm=round(z0, LEVEL_DIGITS),
                z1_mm=round(z1, LEVEL_DIGITS),
                effect=Effect.KEEP,
            )
        )
    return tuple(found)


def tub_drawing(design: EnclosureDesign, piece: int | None = None) -> Drawing:
    """The tub, floor's underside on z = 0, plan as in the pack.

    ``piece``: one of the pieces it is printed in; None: the whole, uncut.
    """
    features = tub_features(design, piece)
    bores = tub_bores(design)
    if piece is not None:
        bores = bores_in(bores, piece_shapes(design, part="tub")[piece])
    return drawing_of(
        features,
        part="tub",
        field=FIELD,
        bores=bores,
        order=ORDER,
    )


def flange_bores(
    design: EnclosureDesign, flanges: tuple[JoiningFlange, ...], z0_mm: float
) -> list[Bore]:
    """Screw and insert holes of joining flanges, plan as in the pack, z from ``z0_mm`` up."""
    bores = []
    for flange in flanges:
        way = (1.0, 0.0, 0.0) if flange.axis == 0 else (0.0, 1.0, 0.0)
        radius = design.insert_radius_mm if flange.insert else design.lid_hole_radius_mm
        for s in flange.screws:
            start = (s.x_mm, s.y_mm, s.z_mm - z0_mm)
            bores.append(
                Bore(start, way, radius, design.insert_deep_mm)
                if flange.insert
                else through(start, way, radius, flange.thick_mm)
            )
    return bores


def tub_bores(design: EnclosureDesign) -> tuple[Bore, ...]:
    """Bores from outside: mounting pads, cable glands, tie posts and joining flanges."""
    up = design.z_under_mm
    bores = []
    for pad in design.pads:
        x, y = pad.normal
        way = (0.0 - x, 0.0 - y, 0.0)
        for side in (-0.5, 0.5):
            at = pad.at_mm(pad.along_mm + side * pad.apart_mm, pad.face_mm)
            start = (*at, pad.up_mm)
            bores.append(Bore(start, way, design.pad_hole_radius_mm, design.pad_hole_deep_mm))
    for gland in design.glands:
        start = (design.outer.x1, gland.y_mm, gland.z_mm - up)
        bores.append(through(start, (-1.0, 0.0, 0.0), gland.hole_radius_mm, design.wall_mm))
    for post in design.tie_posts:
        x, _ = post.block.centre_mm
        start = (x, post.block.y0, post.hole_z_mm - up)
        long = post.block.size_mm[1]
        bores.append(through(start, (0.0, 1.0, 0.0), post.hole_radius_mm, long))
    return (*bores, *flange_bores(design, design.tub_seams.flanges, up))


def bores_in(bores: tuple[Bore, ...], shape: BaseGeometry) -> tuple[Bore, ...]:
    """Those bores that begin in a piece."""
    return tuple(
        b
        for b in bores
        if shape.contains(shapely.Point(b.start[0] + b.direction[0], b.start[1] + b.direction[1]))
    )


def piece_name(part: str, seams: SeamDesign, piece: int) -> str:
    """File stem of a piece: the part's name where it is whole."""
    return part if seams.pieces == 1 else f"{part}-{piece + 1}"


def tub_parts(design: EnclosureDesign) -> tuple[Part, ...]:
    """The tub, or its pieces, placed by a shift along z."""
    placed = np.eye(4)
    placed[2, 3] = design.z_under_mm
    seams = design.tub_seams
    note = (
        "floor down, no support: the gland holes bridge as round arches. Heat-set the inserts: "
        "in the bosses from above, in mounting pads and joining flanges from outside. Fit "
        "glands and board before the cells"
    )
    return tuple(
        Part(
            name=piece_name("tub", seams, k),
            role="tub",
            field=FIELD,
            drawing=tub_drawing(design, None if seams.pieces == 1 else k),
            placed=(placed,),
            colour=TUB_COLOUR,
            print_note=note,
        )
        for k in range(seams.pieces)
    )
