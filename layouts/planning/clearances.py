"""What must find room besides the printed parts: cable outlets, screw heads, hands and keys.

Everything in the pack's coordinates. Each need is made of convex pieces that hold it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

import numpy as np
import shapely

from layouts.brackets.kind import Bracket
from layouts.enclosures.box.room import BEND_RATIO, GLANDS
from layouts.enclosures.box.shapes import core_shape
from layouts.enclosures.box.sizes import EnclosureDesign, Gland
from layouts.formats import screws
from layouts.pack import Pack
from layouts.parts.convex import ConvexPiece, bar, bend, block, prism
from layouts.parts.fasteners import Into
from layouts.planning.pack_plan import PackPlan

__all__ = ["BENDS", "Need", "NeedKind", "pack_needs"]

# How far a plastic cable gland with its cap stands out of the wall; from memory, no source
GLAND_OUT_MM = {"M12": 21.0, "M16": 25.0, "M20": 27.0, "M25": 31.0, "M32": 39.0}
# Short arm of a hexagon key by its size across flats; ISO 2936, from memory
KEY_ARM_MM = {2.5: 18.0, 3.0: 20.0, 4.0: 25.0, 5.0: 28.0, 6.0: 32.0}
# Ways that the wires may turn behind their glands, in the pack's coordinates
BENDS = {
    "+z": (0.0, 0.0, 1.0),
    "-z": (0.0, 0.0, -1.0),
    "+y": (0.0, 1.0, 0.0),
    "-y": (0.0, -1.0, 0.0),
}
ROUGH_MM = 0.2  # the core's outline is drawn so much too large where nothing encloses it


class NeedKind(Enum):
    """What a need is for."""

    INSIDE = "inside"  # what the walls enclose, or the room that gas needs round bare cells
    OUTLET = "outlet"
    SCREW_HEAD = "screw head"
    LID_ROOM = "lid room"
    KEY_ROOM = "key room"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Need:
    """One body that must find room. ``servicing``: only while a hand or a key is at work."""

    name: str
    kind: NeedKind
    pieces: tuple[ConvexPiece, ...]

    @property
    def servicing(self) -> bool:
        """Whether it is needed only for taking the lid off or driving screws."""
        return self.kind in (NeedKind.LID_ROOM, NeedKind.KEY_ROOM)


def pack_needs(plan: PackPlan, *, bend_to: str = "+z") -> tuple[Need, ...]:
    """All needs of a pack; ``bend_to``: one of ``BENDS``, how all wires turn behind the glands.

    Without an enclosure: the core with the room for gas over both faces, and the strips.
    Raises KeyError for a way that is none of ``BENDS``.
    """
    if plan.housing is None:
        return (_bare(plan),)
    design = plan.enclosure
    return (
        Need(
            name="inside of the tub",
            kind=NeedKind.INSIDE,
            pieces=(
                block(
                    (design.cavity.x0, design.cavity.y0, design.z_floor_mm),
                    (design.cavity.x1, design.cavity.y1, design.z_rim_mm),
                ),
            ),
        ),
        *_outlets(plan.pack, design, BENDS[bend_to]),
        *_lid_heads(design),
        *_ear_heads(design),
        *_bracket_heads(plan.bracket),
        *_servicing(design, plan.bracket),
    )


def _bare(plan: PackPlan) -> Need:
    """Held cells without an enclosure: triangles of the plan, as high as cells and gas need."""
    pack = plan.pack
    room = pack.holder.lip_mm + pack.enclosure.gas_gap_mm
    strips = [shapely.Polygon(strip.outline_mm) for strip in plan.joining.strips]
    shape = shapely.union_all([core_shape(plan.core.outline), *strips])
    rough = shape.simplify(ROUGH_MM).buffer(ROUGH_MM, join_style="mitre")
    triangles = shapely.constrained_delaunay_triangles(rough)
    return Need(
        name="held cells and the room for gas",
        kind=NeedKind.INSIDE,
        pieces=tuple(
            prism(_ccw(one), -room, pack.lip_to_lip_mm + room)
            for one in shapely.get_parts(triangles)
        ),
    )


def _ccw(shape: shapely.Polygon) -> list[tuple[float, float]]:
    ring = shapely.orient_polygons(shape).exterior
    return [(float(x), float(y)) for x, y in ring.coords[:-1]]


def wire_mm(pack: Pack, gland: Gland) -> float:
    """Outside diameter of the wire through a gland: the main lead's, else the largest it takes."""
    if gland.purpose.startswith("pack "):
        return pack.leads.outside_mm
    return next(most for thread, _, _, most in GLANDS if thread == gland.size)


def _outlets(
    pack: Pack, design: EnclosureDesign, towards: tuple[float, float, float]
) -> Iterator[Need]:
    """Each gland with its cap, and its wire turned by a quarter right behind it.

    The bend's radius counts on its inner side, as cable makers state it (from memory).
    """
    for gland in design.glands:
        wire = wire_mm(pack, gland)
        start = (design.outer.x1, gland.y_mm, gland.z_mm)
        end = (design.outer.x1 + GLAND_OUT_MM[gland.size], gland.y_mm, gland.z_mm)
        turn = bend(end, (1.0, 0.0, 0.0), towards, wire_mm=wire, inside_mm=BEND_RATIO * wire)
        yield Need(
            name=f"cable outlet for {gland.purpose}",
            kind=NeedKind.OUTLET,
            pieces=(bar(start, end, gland.nut_mm), *turn),
        )


def _lid_heads(design: EnclosureDesign) -> Iterator[Need]:
    screw = screws()[design.lid_screw]
    places = [(b.x_mm, b.y_mm) for b in design.bosses if b.screw]
    top = design.z_lid_mm
    yield Need(
        name="heads of the lid's screws",
        kind=NeedKind.SCREW_HEAD,
        pieces=tuple(
            bar((x, y, top), (x, y, top + screw.head_high_mm), screw.head_mm / 2) for x, y in places
        ),
    )


def _ear_heads(design: EnclosureDesign) -> Iterator[Need]:
    """Heads on the ears that close a cut tub or lid, on the side that the screws come from."""
    screw = screws()[design.lid_screw]
    for part, cut in (("tub", design.tub_cut), ("lid", design.lid_cut)):
        pieces = []
        for ear in cut.ears:
            if ear.insert:
                continue
            away = np.eye(3)[ear.axis]
            for at in ear.screws:
                start = np.array((at.x_mm, at.y_mm, at.z_mm))
                end = start - away * screw.head_high_mm
                pieces.append(bar(start.tolist(), end.tolist(), screw.head_mm / 2))
        if pieces:
            yield Need(
                name=f"heads that close the {part}'s pieces",
                kind=NeedKind.SCREW_HEAD,
                pieces=tuple(pieces),
            )


def _bracket_heads(bracket: Bracket) -> Iterator[Need]:
    for number in sorted({one.on for one in bracket.screws}):
        pieces = []
        for one in bracket.screws:
            if one.on == number:
                top = one.lift_mm + one.size.head_high_mm
                washer = bar(one.point(0.0), one.point(one.lift_mm), one.size.washer_mm / 2)
                head = bar(one.point(one.lift_mm), one.point(top), one.size.head_mm / 2)
                pieces += [washer, head]
        yield Need(
            name=f"screw heads on bracket {number}", kind=NeedKind.SCREW_HEAD, pieces=tuple(pieces)
        )


def _servicing(design: EnclosureDesign, bracket: Bracket) -> Iterator[Need]:
    """Room over the lid to take its screws out and lift it off; keys over the frame's screws."""
    screw = screws()[design.lid_screw]
    length = next(use.length_mm for use in design.screw_uses if use.where == "lid to tub")
    assert length is not None
    # a head lifted by its screw's length, with the key on it; the lid itself lifted off its skirts
    driving = screw.head_high_mm + length + KEY_ARM_MM[screw.key_mm]
    lifting = design.skirt_deep_mm + design.pad_lid_mm
    plan, top = design.lid_box, design.z_lid_mm
    yield Need(
        name="room to take the lid off",
        kind=NeedKind.LID_ROOM,
        pieces=(block((plan.x0, plan.y0, top), (plan.x1, plan.y1, top + max(driving, lifting))),),
    )
    pieces = tuple(
        bar(one.point(top), one.point(top + KEY_ARM_MM[one.size.key_mm]), one.size.head_mm / 2)
        for one in bracket.screws
        if one.into is Into.FRAME
        for top in (one.lift_mm + one.size.head_high_mm,)
    )
    if pieces:
        yield Need(
            name="room for a key over the brackets' screws",
            kind=NeedKind.KEY_ROOM,
            pieces=pieces,
        )
