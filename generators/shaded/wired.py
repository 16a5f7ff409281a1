"""Board, fuse, lugs, glands and main leads, and what else stands in an enclosure, as things."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
import shapely.ops
from numpy.typing import NDArray

from generators.exports.bill import BillRow
from generators.made_part import MeshedPart
from generators.meshes.mesh import Mesh
from generators.shaded.bill_lookup import row_of
from generators.shaded.bought import (
    INSIDE_MM,
    LUG_LONG_MM,
    board_bodies,
    fuse_body,
    fuse_sleeve,
    gland_body,
    turned_to,
)
from generators.shaded.insulation import placed_meshes
from generators.shaded.lead_ways import FreePlan, free_plan
from generators.shaded.levels import ASIDE_MM, lift_mm
from generators.shaded.metal import LugPlace, lug_bodies, lug_places
from generators.shaded.palette import Paint
from generators.shaded.shapes import curve, prism, section, tube
from generators.shaded.things import Placed, Thing
from layouts.enclosures.form import StandingBody
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face
from layouts.parts.outlet import CableOutlet
from layouts.planning.pack_plan import PackPlan

__all__ = ["wired_things"]

Point3 = tuple[float, float, float]

CELL_SIDE_MM = 0.6  # a lead's way keeps off the held cells
OUTSIDE_MM = 34.0  # of a lead that is drawn behind its gland
FUSE_LONG_MM = 52.0  # of a fuse in its lead's line; a bought holder, from memory
FUSE_OFF_MM = 8.0  # behind the gland
IN_CRIMP = 0.8  # of a lug's length: where its wire begins
WAYS = 16  # that a lug's crimp may point to
ASKEW_MM = 6.0  # so far off a free place is as bad as square to the lead's next stop
INTO_MM = 0.5  # a lead's end reaches so far into what it is joined to
SHARES = (1.0, 0.5)  # of a lead's radius that its way is kept free by
UNDER_LID_MM = 3.0
SECTIONS = 3  # heights at which the tub's insides are looked at


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Lead:
    """One main lead: the place that it begins at, its gland, and points between."""

    start_mm: tuple[float, float, float]
    lug: LugPlace | None
    outlet: CableOutlet
    minus: bool


def wired_things(
    plan: PackPlan, meshed: Sequence[MeshedPart], bill: Sequence[BillRow]
) -> Iterator[Thing]:
    """All of them, in an enclosure of the pack's own."""
    yield _board(plan, bill)
    yield from _glands(plan, bill)
    standing = plan.enclosure.standing
    yield from _standing(plan, standing, bill)
    fuse = next((one for one in standing if one.item == "main fuse"), None)
    free = _free(plan, meshed, fuse)
    leads = _leads(plan)
    inside: list[Placed] = []
    through: list[Placed] = []
    lugs: dict[tuple[str, str], list[Placed]] = {}
    for lead in leads:
        body = _on_the_way(plan, lead, fuse)
        towards = _towards(lead, body, free[0])
        stops = _stops(plan, lead, _begin(plan, lead, towards), body)
        ways = _joined([_way(free, a, b) for a, b in stops], body)
        if lead.lug is not None:
            for item, placed in _lug(plan, lead.lug, towards).items():
                rides = "metal" if lead.lug.face is Face.UPPER else ""
                lugs.setdefault((item, rides), []).append(placed)
        stretches = _wire(plan, lead, ways)
        inside += stretches[:-1]
        through += stretches[-1:]
    for bridge in lug_places(plan.pack, plan.interconnect):
        if bridge.bridged:
            rides = "metal" if bridge.face is Face.UPPER else ""
            for item, placed in _lug(plan, bridge, (1.0, 0.0)).items():
                lugs.setdefault((item, rides), []).append(placed)
    for (item, rides), placed_lugs in lugs.items():
        yield Thing(
            name=f"{item}, {rides or 'lower'}", row=row_of(bill, item), copies=tuple(placed_lugs),
            paint=Paint.BRASS if item.startswith("ring lug") else Paint.STEEL, rides=rides,
        )  # fmt: skip
    for name, copies, rides in (
        ("main leads through their glands", through, "tub"), ("main leads inside", inside, ""),
    ):  # fmt: skip
        yield Thing(
            name=name, row=row_of(bill, "main lead wire"), paint=Paint.WIRE, copies=tuple(copies),
            rides=rides,
        )  # fmt: skip
    if fuse is None:
        yield from _fuse_in_line(plan, leads, bill)


def _leads(plan: PackPlan) -> tuple[_Lead, ...]:
    """Pack minus and pack plus, each with the gland that is named so."""
    pack, outlets = plan.pack, {one.purpose: one for one in plan.enclosure.outlets}
    screwed = {one.minus: one for one in lug_places(pack, plan.interconnect) if not one.bridged}
    found = []
    for minus, face in ((True, plan.interconnect.minus_face), (False, plan.interconnect.plus_face)):
        outlet = outlets.get("pack minus" if minus else "pack plus")
        if outlet is None:
            continue
        lug = screwed.get(minus)
        start = lug.at_mm if lug is not None else _soldered(plan, minus, face)
        if start is not None:
            found.append(_Lead(start_mm=start, lug=lug, outlet=outlet, minus=minus))
    return tuple(found)


def _soldered(plan: PackPlan, minus: bool, face: Face) -> tuple[float, float, float] | None:
    """Where a lead without a lug begins: on a bar's landing, or at the end of a strip."""
    faces, pack = plan.interconnect, plan.pack
    out = 1.0 if face is Face.UPPER else -1.0
    z = (pack.lip_to_lip_mm if face is Face.UPPER else 0.0) + out * pack.leads.outside_mm / 2
    for plate in faces.plates:
        if plate.bar is not None and plate.is_end and plate.is_minus is minus:
            return (*plate.bar.tap_mm, z)
    group = 1 if minus else pack.series
    for strip in faces.strips:
        if strip.runs_out and strip.face is face and strip.groups == (group,):
            return (*strip.end_mm, z)
    return None


def _on_the_way(
    plan: PackPlan, lead: _Lead, fuse: StandingBody | None
) -> tuple[shapely.Polygon, float] | None:
    """What a lead is joined to between the cells and its gland, in the plan, and the height there:
    pack minus to the board, pack plus to the fuse where that has a place."""
    if lead.minus:
        board = plan.enclosure.board
        return shapely.box(*board.plan.bounds), (board.z0_mm + board.z1_mm) / 2
    if fuse is not None:
        return fuse.plan, (fuse.z0_mm + fuse.z1_mm) / 2
    return None


def _inner_end(outlet: CableOutlet) -> Point3:
    """The middle of a gland's nut."""
    x, y, z = (outlet.at_mm - (outlet.wall_mm + INSIDE_MM) * outlet.out).tolist()
    return x, y, z


def _begin(plan: PackPlan, lead: _Lead, towards: tuple[float, float]) -> Point3:
    """Where the wire itself begins: in its lug's crimp."""
    x, y, z = lead.start_mm
    if lead.lug is None:
        return lead.start_mm
    far, radius = LUG_LONG_MM * IN_CRIMP, plan.pack.leads.outside_mm / 2
    return x + far * towards[0], y + far * towards[1], z + lead.lug.outward * radius


def _towards(
    lead: _Lead, body: tuple[shapely.Polygon, float] | None, free: FreePlan
) -> tuple[float, float]:
    """The way in which a lug's crimp points: to a free place, and rather towards the lead's next
    stop."""
    x, y, _ = lead.start_mm
    goal = _inner_end(lead.outlet)[:2] if body is None else (body[0].centroid.x, body[0].centroid.y)
    off = np.array(goal) - (x, y)
    aim = off / max(float(np.hypot(*off)), 1e-9)
    turns = np.arange(WAYS) * (2.0 * np.pi / WAYS)
    ways = np.column_stack([np.cos(turns), np.sin(turns)])
    missed = np.zeros(WAYS)
    if len(free.at_mm):
        ends = LUG_LONG_MM * ways + (x, y)
        missed = np.hypot(*np.moveaxis(ends[:, None] - free.at_mm, 2, 0)).min(axis=1)
    best = int(np.argmin(missed + ASKEW_MM * (1.0 - ways @ aim)))
    return float(ways[best, 0]), float(ways[best, 1])


def _stops(
    plan: PackPlan, lead: _Lead, begin: Point3, body: tuple[shapely.Polygon, float] | None
) -> list[tuple[Point3, Point3]]:
    """Both ends of each stretch, the last one at the gland's inner end."""
    end = _inner_end(lead.outlet)
    if body is None:
        return [(begin, end)]
    plate, z = body
    radius = plan.pack.leads.outside_mm / 2
    edge = plate.buffer(radius - INTO_MM).exterior
    within = edge.intersection(plan.enclosure.shell.cavity.buffer(-radius))
    near, far = (
        shapely.ops.nearest_points(edge if within.is_empty else within, shapely.Point(at[:2]))[0]
        for at in (begin, end)
    )
    return [(begin, (near.x, near.y, z)), ((far.x, far.y, z), end)]


def _joined(
    ways: Sequence[NDArray[np.float64]], body: tuple[shapely.Polygon, float] | None
) -> list[NDArray[np.float64]]:
    """Both stretches led on into what they are joined to."""
    if body is None:
        return list(ways)
    first, last = ways
    ends = []
    for x, y, z in (first[-1], last[0]):
        at = shapely.ops.nearest_points(body[0].buffer(-INTO_MM), shapely.Point(x, y))[0]
        ends.append((at.x, at.y, z))
    return [np.vstack([first, ends[0]]), np.vstack([ends[1], last])]


def _way(
    plans: Sequence[FreePlan], start: Sequence[float], end: Sequence[float]
) -> NDArray[np.float64]:
    """By the first of the free plans that joins both; straight where none does."""
    ways = (free.way(start, end) for free in plans)
    return next((way for way in ways if way is not None), np.array([start, end]))


def _free(
    plan: PackPlan, meshed: Sequence[MeshedPart], fuse: StandingBody | None
) -> tuple[FreePlan, ...]:
    """Where a main lead has room: beside the cells, the tub's insides, board and fuse; where that
    joins nothing, over board and fuse, under the lid."""
    shell, radius = plan.enclosure.shell, plan.pack.leads.outside_mm / 2
    tub = placed_meshes(meshed, ("tub",))
    low, high = shell.z_floor_mm, shell.z_rim_mm
    heights = np.linspace(low, high, SECTIONS + 2)[1:-1].tolist()
    inside = shapely.union_all([section(tub, z) for z in heights])
    cells = cell_block_shape(plan.cell_block.outline).buffer(CELL_SIDE_MM)
    board = shapely.box(*plan.enclosure.board.plan.bounds)
    taken = shapely.union_all([inside, cells, board, *([] if fuse is None else [fuse.plan])])
    over = high - UNDER_LID_MM - radius
    walls = shapely.union(section(tub, over), cells)
    return (
        *(free_plan(shell.cavity, taken, radius * share) for share in SHARES),
        *(free_plan(shell.cavity, walls, radius * share, over) for share in SHARES),
    )


def _wire(plan: PackPlan, lead: _Lead, ways: Sequence[NDArray[np.float64]]) -> list[Placed]:
    """A lead's stretches, the last one through the gland."""
    outlet, radius = lead.outlet, plan.pack.leads.outside_mm / 2
    out = outlet.at_mm + outlet.out * outlet.gland.long_mm
    tail = [out + outlet.out * (share * OUTSIDE_MM) for share in (0.4, 1.0)]
    if not lead.minus and not any(one.item == "main fuse" for one in plan.enclosure.standing):
        tail = [out + outlet.out * (FUSE_OFF_MM + FUSE_LONG_MM * k) for k in (0.0, 1.0, 1.4)]
    stretches = list(ways)
    stretches[-1] = np.vstack([stretches[-1], outlet.at_mm, out, *tail])
    apart = _with_lead(plan, outlet)
    at = tuple(map(float, outlet.at_mm))
    return [
        Placed(
            mesh=tube(curve(points.tolist()), radius), place=np.eye(4), apart_mm=apart,
            rides_mm=(at[0], at[1], at[2]),
        )
        for points in stretches
    ]  # fmt: skip


def _lug(plan: PackPlan, place: LugPlace, towards: tuple[float, float]) -> dict[str, Placed]:
    layer = "upper metal" if place.face is Face.UPPER else "lower metal"
    lift = (0.0, 0.0, lift_mm(layer, plan.pack.cell.length_mm))
    return {
        item: Placed(mesh=mesh, place=matrix, apart_mm=lift, rides_mm=place.at_mm)
        for item, (mesh, matrix) in lug_bodies(plan.pack, place, towards).items()
    }


def _board(plan: PackPlan, bill: Sequence[BillRow]) -> Thing:
    board = plan.enclosure.board
    x, y, _ = board.centre_mm
    mesh = board_bodies(board, (-x, -y))
    return Thing(
        name="protection board", row=row_of(bill, "BMS board"), paint=Paint.BOARD,
        copies=(Placed(mesh=mesh, place=np.eye(4), apart_mm=_beside(plan, (x, y))),),
    )  # fmt: skip


def _beside(plan: PackPlan, at_mm: tuple[float, float]) -> tuple[float, float, float]:
    """Lifted over the rim and out of the nearest wall, for what stands beside the cells."""
    x0, y0, x1, y1 = plan.enclosure.shell.outer.bounds
    off = {
        (1.0, 0.0): x1 - at_mm[0], (-1.0, 0.0): at_mm[0] - x0,
        (0.0, 1.0): y1 - at_mm[1], (0.0, -1.0): at_mm[1] - y0,
    }  # fmt: skip
    way = min(off, key=lambda one: off[one])
    far = ASIDE_MM["board"]
    return way[0] * far, way[1] * far, lift_mm("beside", plan.pack.cell.length_mm)


def _glands(plan: PackPlan, bill: Sequence[BillRow]) -> Iterator[Thing]:
    for one in plan.enclosure.outlets:
        item = f"cable gland {one.gland.size} with nut, {one.purpose}"
        move = ASIDE_MM["gland"] * one.out
        at = tuple(map(float, one.at_mm))
        placed = Placed(
            mesh=gland_body(one.gland, one.wall_mm), place=turned_to(one.out, one.at_mm),
            apart_mm=(float(move[0]), float(move[1]), 0.0), rides_mm=(at[0], at[1], at[2]),
        )  # fmt: skip
        yield Thing(
            name=item, row=row_of(bill, item), paint=Paint.GLAND, copies=(placed,), rides="tub"
        )


def _standing(
    plan: PackPlan, standing: Sequence[StandingBody], bill: Sequence[BillRow]
) -> Iterator[Thing]:
    """What else the enclosure has a place for."""
    can = plan.pack.cell.length_mm
    found: dict[str, list[Placed]] = {}
    for one in standing:
        fuse = one.item == "main fuse"
        mesh: Mesh = (
            fuse_body(one.plan, one.z0_mm, one.z1_mm)
            if fuse
            else prism(one.plan, one.z0_mm, one.z1_mm)
        )
        plus = next(two for two in plan.enclosure.outlets if two.purpose == "pack plus")
        apart = _with_lead(plan, plus) if fuse else (0.0, 0.0, lift_mm("clamp", can))
        found.setdefault(one.item, []).append(Placed(mesh=mesh, place=np.eye(4), apart_mm=apart))
    for item, copies in found.items():
        fuse = item == "main fuse"
        yield Thing(
            name=item, row=row_of(bill, item), copies=tuple(copies),
            paint=Paint.FUSE if fuse else Paint.SILICONE, rides="" if fuse else "lid",
        )  # fmt: skip


def _with_lead(plan: PackPlan, outlet: CableOutlet) -> tuple[float, float, float]:
    """A main lead, and the fuse in it, go out of the side of its gland, which is one that is
    seen."""
    move = ASIDE_MM["lead"] * outlet.out
    return float(move[0]), float(move[1]), lift_mm("beside", plan.pack.cell.length_mm)


def _fuse_in_line(
    plan: PackPlan, leads: Sequence[_Lead], bill: Sequence[BillRow]
) -> Iterator[Thing]:
    """In the plus lead behind its gland, where the enclosure has no place for it."""
    for lead in leads:
        if lead.minus:
            continue
        outlet = lead.outlet
        begin = outlet.at_mm + outlet.out * (outlet.gland.long_mm + FUSE_OFF_MM)
        at = tuple(map(float, outlet.at_mm))
        yield Thing(
            name="main fuse", row=row_of(bill, "main fuse"), paint=Paint.FUSE, rides="tub",
            copies=(
                Placed(
                    mesh=fuse_sleeve(plan.pack.leads.outside_mm, FUSE_LONG_MM),
                    place=turned_to(outlet.out, begin),
                    apart_mm=_with_lead(plan, outlet),
                    rides_mm=(at[0], at[1], at[2]),
                ),
            ),
        )  # fmt: skip
