"""Card pieces of brackets, screw heads and cable outlets, and the frame's drilling plan."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from generators.dummy.card import (
    TAB_MM,
    CardLabel,
    CardPiece,
    Drill,
    Line,
    circle,
    corners_of,
    layers_for,
    rectangle,
)
from layouts.brackets.kind import Bracket, Stack
from layouts.parts.drawing import placed_box_mm
from layouts.parts.fasteners import Into
from layouts.parts.outlet import CableOutlet
from layouts.parts.screw import PlacedScrew
from layouts.parts.shell import Rect, Shell

__all__ = ["bracket_pieces", "drill_plans", "head_pieces", "outlet_pieces"]

SMALL_LABEL_MM = 2.5
FACING = 0.99  # of a unit vector
PLAIN = {"+x": "right", "-x": "left", "+y": "back", "-y": "front"}  # in file names
LEAST_LAYERS = 1  # a plate is never left out


def stack_of(card_mm: float) -> Stack:
    """Layers for a thickness, one at least, and how thick they are together."""

    def stack(thick_mm: float) -> tuple[int, float]:
        layers = max(LEAST_LAYERS, layers_for(thick_mm, card_mm))
        return layers, layers * card_mm

    return stack


def bracket_pieces(bracket: Bracket, card_mm: float) -> tuple[CardPiece, ...]:
    """A bracket's plates as layers of card."""
    return tuple(
        CardPiece(
            name=one.name, title=one.title, cuts=(corners_of(shapely.Polygon(one.outline_mm)),),
            places=one.places, count=one.count,
            drills=tuple(Drill(x_mm=x, y_mm=y, hole_diameter_mm=hole) for x, y, hole in one.holes),
            labels=tuple(CardLabel(x_mm=x, y_mm=y, text=t, size_mm=s) for x, y, t, s in one.words),
        )
        for one in bracket.plates(stack_of(card_mm))
    )  # fmt: skip


def head_pieces(heads: Sequence[PlacedScrew], card_mm: float) -> tuple[CardPiece, ...]:
    """Discs for screw heads; where a washer lies under, it counts to the height."""
    kinds: dict[tuple[str, bool, bool], list[PlacedScrew]] = {}
    for head in heads:
        kinds.setdefault((head.screw, head.washer, head.low_head), []).append(head)
    pieces = []
    for (screw, washer, _), alike in kinds.items():
        size, count = alike[0].size, len(alike)
        high = size.head_high_mm + (size.washer_high_mm if washer else 0.0)
        layers = max(LEAST_LAYERS, layers_for(high, card_mm))
        pieces.append(
            CardPiece(
                name=f"head-{screw.lower()}", title=f"{screw} head, {layers} each; or the screw",
                cuts=(circle(0.0, 0.0, size.head_diameter_mm / 2, 24),), count=layers * count,
                labels=(CardLabel(x_mm=0.0, y_mm=0.0, text=screw, size_mm=1.8),),
            )
        )  # fmt: skip
    return tuple(pieces)


def outlet_pieces(outlets: Sequence[CableOutlet]) -> tuple[CardPiece, ...]:
    """For each gland a card to stand on the wall: its cap from the side, and the wire's bend."""
    kinds: dict[tuple[str, float], list[CableOutlet]] = {}
    for one in outlets:
        kinds.setdefault((one.gland.size, one.wire_mm), []).append(one)
    pieces = []
    for number, ((size, _), same) in enumerate(kinds.items(), start=1):
        one = same[0]
        half, long, bend = one.gland.keep_radius_mm, one.gland.long_mm, one.bend_middle_radius_mm
        reach = bend + one.wire_mm / 2
        centre = (bend, long)
        outer = shapely.Point(centre).buffer(reach, quad_segs=24)
        quarter = outer.intersection(shapely.box(centre[0] - reach, long, centre[0], long + reach))
        cap = shapely.box(-half, 0.0, half, long)
        whole = shapely.union_all(
            [cap, quarter, shapely.box(-half + 1.5, -TAB_MM, half - 1.5, 0.0)]
        )
        inner = max(0.0, bend - one.wire_mm / 2)
        arc: Line = tuple(
            (centre[0] - inner * math.cos(t), long + inner * math.sin(t))
            for t in np.linspace(0.0, math.pi / 2, 24).tolist()
        )
        pieces.append(
            CardPiece(
                name=f"outlet-{size.lower()}-{number}",
                title=f"{size} gland with the bend of its lead, diameter {one.wire_mm:g} mm",
                cuts=(corners_of(whole),), folds=(((-half, 0.0), (half, 0.0)),),
                places=(arc,),
                labels=(
                    CardLabel(x_mm=0.0, y_mm=long / 2, text=f"gland {size}",
                        size_mm=SMALL_LABEL_MM),
                    CardLabel(x_mm=0.0, y_mm=-TAB_MM / 2, text="tab", size_mm=SMALL_LABEL_MM),
                ),
                count=len(same),
            )
        )  # fmt: skip
    return tuple(pieces)


def drill_plans(shell: Shell, bracket: Bracket) -> tuple[CardPiece, ...]:
    """Where the frame is drilled: a plan for upright screws, a face for each way of level ones."""
    into_frame = [one for one in bracket.screws if one.into is Into.FRAME and not one.drilled_last]
    upright = [one for one in into_frame if one.upright]
    found = [_plan_from_above(shell, bracket, upright)] if upright else []
    level = [one for one in into_frame if not one.upright]
    ways = dict.fromkeys((round(float(x)), round(float(y))) for x, y, _ in (s.out for s in level))
    for way in ways:
        seen = [one for one in level if one.out[:2] @ np.array(way) > FACING]
        found.append(_plan_of_face(shell, bracket, seen, way))
    return tuple(found)


def _plan_of_face(
    shell: Shell, bracket: Bracket, seen: Sequence[PlacedScrew], way: tuple[int, int]
) -> CardPiece:
    """An upright face of the frame, seen against ``way``: holes, the brackets, the underside."""
    right = np.array((-way[1], way[0]), dtype=np.float64)  # to the right, seen from outside
    here = {one.on for one in seen}
    rings: list[Line] = []
    for part in bracket.parts:
        for number, matrix in enumerate(part.placed, start=1):
            if number not in here:
                continue
            low, high = placed_box_mm(part.drawing.box_mm(), matrix)
            u = sorted((float(low[:2] @ right), float(high[:2] @ right)))
            ring = rectangle(u[0], float(low[2]), u[1], float(high[2]))
            rings.append((*ring, ring[0]))
    x0, y0, x1, y1 = shapely.MultiPoint([p for ring in rings for p in ring]).buffer(3.0).bounds
    y1 = max(y1, shell.z_under_mm + 20.0)
    size = seen[0].size
    name = "+x" if way[0] > 0 else "-x" if way[0] < 0 else "+y" if way[1] > 0 else "-y"
    return CardPiece(
        name=f"drill-face-{PLAIN[name]}", title=f"drilling plan of the frame's face at {name}",
        cuts=(rectangle(x0, y0, x1, y1),),
        places=(*rings, ((x0, shell.z_under_mm), (x1, shell.z_under_mm))),
        drills=tuple(
            Drill(x_mm=float(one.at_mm[:2] @ right), y_mm=float(one.at_mm[2]),
                  hole_diameter_mm=size.clearance_diameter_mm, text=size.screw)
            for one in seen
        ),
        labels=(
            CardLabel(x_mm=(x0 + x1) / 2, y_mm=y1 - 7.0, size_mm=4.0,
                  text=f"face at {name}, seen from outside"),
            CardLabel(x_mm=(x0 + x1) / 2, y_mm=shell.z_under_mm + 1.0, size_mm=SMALL_LABEL_MM,
                  text="line: underside of the tub"),
        ),
        paper=True,
    )  # fmt: skip


def _plan_from_above(
    shell: Shell, bracket: Bracket, into_frame: Sequence[PlacedScrew]
) -> CardPiece:
    """The frame from above: where it is drilled, the box's outline, and the feet."""
    holes = np.array([one.point(-one.through_mm) for one in into_frame])
    size = into_frame[0].size
    left, front, right, back = shell.outer.bounds
    box = Rect(x0=left, y0=front, x1=right, y1=back)
    x_mid, y_mid = box.centre_mm
    feet: list[Line] = []
    for part in bracket.parts:
        (x0, _, z0), (x1, _, z1) = part.drawing.box_mm()
        plan = np.array([(x0, 0, z0, 1.0), (x1, 0, z0, 1.0), (x1, 0, z1, 1.0), (x0, 0, z1, 1.0)])
        for matrix in part.placed:
            there = plan @ matrix.T
            ring = tuple((float(x) - x_mid, float(y) - y_mid) for x, y in there[:, :2])
            feet.append((*ring, ring[0]))
    around = shapely.MultiPoint([p for foot in feet for p in foot]).buffer(3.0).bounds
    x0, y0, x1, y1 = around
    x0, x1 = min(x0, box.x0 - x_mid - 3.0), max(x1, box.x1 - x_mid + 3.0)
    y0, y1 = min(y0, box.y0 - y_mid - 3.0), max(y1, box.y1 - y_mid + 3.0)
    outline = rectangle(box.x0 - x_mid, box.y0 - y_mid, box.x1 - x_mid, box.y1 - y_mid)
    return CardPiece(
        name="drill-plan", title="drilling plan of the frame, seen from above",
        cuts=(rectangle(x0, y0, x1, y1),), places=(*feet, (*outline, outline[0])),
        drills=tuple(Drill(x_mm=float(x) - x_mid, y_mm=float(y) - y_mid,
                           hole_diameter_mm=size.clearance_diameter_mm, text=size.screw)
                     for x, y in holes[:, :2]),
        labels=(
            CardLabel(x_mm=0.0, y_mm=10.0, text="drilling plan, seen from above", size_mm=5.0),
            CardLabel(x_mm=0.0, y_mm=2.0, text="paper: lay it on the frame, the pack's x to the "
                                               "right"),
            CardLabel(x_mm=0.0, y_mm=-4.0, text=f"{len(holes)} holes for {size.screw}, diameter "
                                            f"{size.clearance_diameter_mm:g} mm in the feet"),
            CardLabel(x_mm=box.x1 - x_mid - 6.0, y_mm=0.0, text="+x: leads", turned=True),
        ),
        paper=True,
    )  # fmt: skip
