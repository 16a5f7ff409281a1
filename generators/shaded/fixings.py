"""Screws, washers, nuts and inserts of every joint, as things."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generators.exports.bill import BillRow, screw_rows
from generators.meshes.mesh import Mesh
from generators.shaded.bill_lookup import row_of
from generators.shaded.bought import (
    insert_body,
    nut_body,
    screw_body,
    turned_to,
    washer_body,
)
from generators.shaded.levels import ASIDE_MM, lift_mm
from generators.shaded.palette import Paint
from generators.shaded.parts import pad_place
from generators.shaded.things import Placed, Thing
from layouts.formats import screws
from layouts.parts.fasteners import BELOW_INSERT_MM, Into
from layouts.parts.screw import PlacedScrew, screw_uses
from layouts.parts.tie_screw import tie_screw
from layouts.planning.pack_plan import PackPlan

__all__ = ["insert_things", "screw_things", "tie_things"]

INTO_FRAME_MM = 10.0  # drawn below a bracket's foot: the frame's own thickness is not known
OUT_MM = 34.0  # a screw is pulled out so far
INSERT_OUT_MM = 14.0
WASHER_BEHIND_MM = 8.0
FRAME_OUT_MM = 22.0  # less: what hangs over a bracket's foot is near


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Carried:
    """What carries a screw: which wedge takes it away, where, and how it moves itself."""

    rides: str
    at_mm: tuple[float, float, float]
    apart_mm: NDArray[np.float64]


def tie_things(plan: PackPlan, bill: Sequence[BillRow]) -> Iterator[Thing]:
    """Tie screws with their nuts; gone with the upper holder that their heads stand in."""
    pack, posts = plan.pack, plan.cell_block.posts
    tie, size = tie_screw(pack), screws()[pack.holder.screw]
    lip, can = pack.holder.lip_mm, pack.cell.length_mm
    head_z = pack.lip_to_lip_mm + lip - tie.head_recess_mm
    nut_z = -lip + tie.nut_recess_mm - size.nut_high_mm
    thread = float(tie.screw.removeprefix("M"))
    head = screw_body(thread, tie.length_mm, size.head_diameter_mm, size.head_high_mm, size.key_mm)
    nut = nut_body(thread, size.nut_flats_mm, size.nut_high_mm)
    told = screw_rows(plan.screw_uses[:1])
    for name, body, z, layer, kind in (
        ("tie screws", head, head_z, "ties", "socket head screws"),
        ("tie screws' nuts", nut, nut_z, "lower nuts", "hexagon nuts"),
    ):
        row = next(row for row in told if row.item == kind)
        copies = []
        for post in posts:
            place = np.eye(4)
            place[:3, 3] = post.x_mm, post.y_mm, z
            copies.append(
                Placed(
                    mesh=body,
                    place=place,
                    apart_mm=(0.0, 0.0, lift_mm(layer, can)),
                    rides_mm=(post.x_mm, post.y_mm, head_z),
                )
            )
        yield Thing(
            name=name, row=row_of(bill, row.item, row.size), paint=Paint.STEEL,
            copies=tuple(copies), rides="holder" if kind == "socket head screws" else "",
        )  # fmt: skip


def screw_things(plan: PackPlan, bill: Sequence[BillRow]) -> Iterator[Thing]:
    """Screws of the enclosure and the brackets, with their washers."""
    found: dict[tuple[str, int, str], list[Placed]] = {}
    for one in _screws(plan):
        carried = _carried(plan, one)
        (use,) = screw_uses((one,))
        for row in screw_rows((use,)):
            if row.item == "heat-set inserts":
                continue
            mesh, out = _body(one, row.item)
            if mesh is None:
                continue
            far = FRAME_OUT_MM if one.into is Into.FRAME else OUT_MM
            far -= WASHER_BEHIND_MM if row.item == "washers" else 0.0
            apart = carried.apart_mm + far * one.out
            key = (f"{row.item}, {one.where}", row_of(bill, row.item, row.size), carried.rides)
            found.setdefault(key, []).append(
                Placed(
                    mesh=mesh,
                    place=turned_to(one.out, np.asarray(one.point(out))),
                    apart_mm=(float(apart[0]), float(apart[1]), float(apart[2])),
                    rides_mm=carried.at_mm,
                )
            )
    for (name, number, rides), copies in found.items():
        yield Thing(name=name, row=number, paint=Paint.STEEL, copies=tuple(copies), rides=rides)


def insert_things(plan: PackPlan, bill: Sequence[BillRow]) -> Iterator[Thing]:
    """Heat-set inserts in their holes."""
    found: dict[tuple[str, int, str], list[Placed]] = {}
    for one in _screws(plan):
        if one.into is not Into.INSERT:
            continue
        carried = _carried(plan, one, insert=True)
        row = next(r for r in screw_rows(screw_uses((one,))) if r.item == "heat-set inserts")
        thread = float(one.screw.removeprefix("M"))
        mesh = insert_body(
            thread, one.size.insert_hole_diameter_mm, one.hole_deep_mm - BELOW_INSERT_MM
        )
        apart = carried.apart_mm + INSERT_OUT_MM * one.out
        mouth = one.point(-one.through_mm - one.gap_mm)
        key = (f"inserts, {one.where}", row_of(bill, row.item, row.size), carried.rides)
        found.setdefault(key, []).append(
            Placed(
                mesh=mesh,
                place=turned_to(one.out, np.asarray(mouth)),
                apart_mm=(float(apart[0]), float(apart[1]), float(apart[2])),
                rides_mm=carried.at_mm,
            )
        )
    for (name, number, rides), copies in found.items():
        yield Thing(name=name, row=number, paint=Paint.BRASS, copies=tuple(copies), rides=rides)


def _screws(plan: PackPlan) -> tuple[PlacedScrew, ...]:
    return (*plan.enclosure.screws, *plan.bracket.screws)


def _body(one: PlacedScrew, item: str) -> tuple[Mesh | None, float]:
    """The body of a row's item and how far outside of the screw's face it begins."""
    size, thread = one.size, float(one.screw.removeprefix("M"))
    if item == "washers":
        return washer_body(thread, size.washer_diameter_mm, size.washer_high_mm), 0.0
    if item == "hexagon nuts":
        return nut_body(thread, size.nut_flats_mm, size.nut_high_mm), -(
            one.through_mm + one.gap_mm + size.nut_high_mm
        )
    long = one.grip_mm + INTO_FRAME_MM if one.length_mm is None else one.length_mm
    return (
        screw_body(thread, long, size.head_diameter_mm, size.head_high_mm, size.key_mm),
        one.lift_mm,
    )


def _carried(plan: PackPlan, one: PlacedScrew, *, insert: bool = False) -> _Carried:
    """By the joint: brackets' screws go with their bracket and its pad, the lid's with the lid,
    their inserts with the tub."""
    can = plan.pack.cell.length_mm
    still = np.zeros(3)
    at = tuple(map(float, one.at_mm))
    if one.where.startswith("brackets"):
        out = np.array((*plan.enclosure.pads[one.on - 1].normal, 0.0))
        apart = still if insert else ASIDE_MM["bracket"] * out
        return _Carried(rides="tub", at_mm=pad_place(plan, one.on - 1), apart_mm=apart)
    lid = np.array((0.0, 0.0, lift_mm("lid", can)))
    if one.where.startswith("lid to tub"):
        rides, apart = ("tub", still) if insert else ("lid", lid)
        return _Carried(rides=rides, at_mm=(at[0], at[1], at[2]), apart_mm=apart)
    of_lid = one.where.endswith("lid")
    return _Carried(
        rides="lid" if of_lid else "tub", at_mm=(at[0], at[1], at[2]),
        apart_mm=lid if of_lid else still,
    )  # fmt: skip
