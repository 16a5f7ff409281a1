"""Printed parts, cells with their rings, and the metal on their ends, as things."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from generators.exports.bill import BillRow
from generators.exports.whole_bill import SHEET_METAL, metal_row
from generators.made_part import MeshedPart
from generators.shaded.bill_lookup import row_of
from generators.shaded.bought import can_bodies, ring_body
from generators.shaded.levels import ASIDE_MM, lift_mm
from generators.shaded.metal import metal_bodies
from generators.shaded.palette import Paint
from generators.shaded.things import Placed, Thing
from layouts.brackets.framed import pads_of_part
from layouts.pack import Face
from layouts.planning.pack_plan import PackPlan

__all__ = ["cell_things", "metal_things", "pad_place", "part_things"]

# role -> paint, layer of the exploded view, wedge that cuts it
ROLES = {
    "tub": (Paint.TUB, "tub", "tub"),
    "lid": (Paint.LID, "lid", "lid"),
    "holder_lower": (Paint.HOLDER, "lower holder", ""),
    "holder_upper": (Paint.HOLDER, "upper holder", "holder"),
    "floor_strap": (Paint.TUB, "floor strap", "tub"),
    "lid_strap": (Paint.LID, "lid strap", "lid"),
    "barrier": (Paint.HOLDER, "cells", "holder"),
}
RING_UNDER_MM = 0.42  # a ring lies on the rim, under the button's top
# corners of a round can: of many cells fewer, so that a picture's work is bounded
SIDES = ((100, 40), (300, 24), (1000, 16), (10**9, 10))


def part_things(
    plan: PackPlan, meshed: Sequence[MeshedPart], bill: Sequence[BillRow]
) -> Iterator[Thing]:
    """One for each part. Raises KeyError for a role that is not known."""
    can = plan.pack.cell.length_mm
    for one in meshed:
        if one.part.sheet is None:
            row = row_of(bill, "printed part", one.name)
        else:
            row = row_of(bill, SHEET_METAL, metal_row(one.part.sheet).size)
        if one.part.role == "bracket":
            yield Thing(
                name=one.name, row=row, rides="tub",
                paint=Paint.BRACKET if one.part.is_printed else Paint.SHEET_METAL,
                copies=tuple(
                    Placed(
                        mesh=one.mesh, place=matrix,
                        apart_mm=aside(plan.enclosure.pads[k].normal, "bracket"),
                        rides_mm=pad_place(plan, k),
                    )
                    for matrix, k in zip(
                        one.part.placed, pads_of_part(plan.bracket, one.part), strict=True
                    )
                ),
            )  # fmt: skip
            continue
        paint, layer, cut = ROLES[one.part.role]
        lift = (0.0, 0.0, lift_mm(layer, can))
        yield Thing(
            name=one.name, row=row, paint=paint, cut=cut,
            copies=tuple(
                Placed(mesh=one.mesh, place=matrix, apart_mm=lift) for matrix in one.part.placed
            ),
        )  # fmt: skip


def aside(way: tuple[float, float], what: str) -> tuple[float, float, float]:
    """Out of a wall that faces that way."""
    return way[0] * ASIDE_MM[what], way[1] * ASIDE_MM[what], 0.0


def pad_place(plan: PackPlan, index: int) -> tuple[float, float, float]:
    """The middle of a mounting pad: what hangs on it goes with it."""
    pad = plan.enclosure.pads[index]
    return (*pad.middle_mm, pad.underside_mm + pad.high_mm / 2)


def cell_things(plan: PackPlan, bill: Sequence[BillRow]) -> Iterator[Thing]:
    """Sleeves, can ends and insulating rings; the signs of the ends alone tell the poles."""
    cell, holder = plan.pack.cell, plan.pack.holder
    count = len(plan.cell_layout.group)
    sides = next(sides for most, sides in SIDES if count <= most)
    sleeve, ends = can_bodies(cell.diameter_mm, cell.length_mm, sides)
    ring = ring_body(cell.diameter_mm, holder.ring_hole_mm, max(holder.ring_mm, 0.1), sides)
    on_rim = np.eye(4)
    on_rim[2, 3] = cell.length_mm - RING_UNDER_MM
    lift = (0.0, 0.0, lift_mm("cells", cell.length_mm))
    places = [
        _standing(x, y, bool(up), cell.length_mm)
        for (x, y), up in zip(
            plan.cell_layout.xy_mm.tolist(), plan.cell_layout.positive_up, strict=True
        )
    ]
    cells, rings = row_of(bill, "cells"), row_of(bill, "insulating rings")
    for name, row, paint, mesh, within in (
        ("cells", cells, Paint.SLEEVE, sleeve, np.eye(4)),
        ("can ends", cells, Paint.CAN, ends, np.eye(4)),
        ("insulating rings", rings, Paint.RING, ring, on_rim),
    ):
        yield Thing(
            name=name, row=row, paint=paint,
            copies=tuple(
                Placed(mesh=mesh, place=place @ within, apart_mm=lift) for place in places
            ),
        )  # fmt: skip


def _standing(x: float, y: float, positive_up: bool, length_mm: float) -> NDArray[np.float64]:
    place = np.eye(4)
    if not positive_up:
        place[:3, :3] = np.diag([1.0, -1.0, -1.0])
        place[2, 3] = length_mm
    place[:2, 3] = x, y
    return place


def metal_things(plan: PackPlan, bill: Sequence[BillRow]) -> Iterator[Thing]:
    """Plates, strips and copper, those of each face apart."""
    found: dict[tuple[int, str, Face, Paint], list[Placed]] = {}
    for one in metal_bodies(plan.pack, plan.cell_layout, plan.interconnect):
        layer = "upper metal" if one.face is Face.UPPER else "lower metal"
        lift = (0.0, 0.0, lift_mm(layer, plan.pack.cell.length_mm))
        key = (row_of(bill, one.item, one.size), one.name, one.face, one.paint)
        placed = Placed(mesh=one.mesh, place=one.place, apart_mm=lift)
        found.setdefault(key, []).append(placed)
    for (row, name, face, paint), copies in found.items():
        yield Thing(
            name=f"{name}, {face.value}", row=row, paint=paint, copies=tuple(copies),
            cut="metal" if face is Face.UPPER else "",
        )  # fmt: skip
