"""Enclosures of small packs whose fittings are put in by hand, for drawings of tub and lid.

Cells, walls and lid screws are planned; where pads, guides, seats, slots and holes stand is set
here by plain rules, so that these tests hang on no planner of fittings."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from functools import cache

import numpy as np
import shapely

from layouts.brackets.kind import MountingPad
from layouts.enclosures.board_seat import BoardSeat
from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.lid_screws import LidScrew
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.placing import PlasticRates, gland_lanes, place_rooms
from layouts.enclosures.fitted.poses import shift_raster
from layouts.enclosures.fitted.rooms import Room, RoomKind, room_needs, rooms_at_cells
from layouts.enclosures.fitted.shell import ShellPlan, levels_of, shell_round
from layouts.enclosures.fitted.sizes import (
    Duct,
    FittedSizes,
    FloorDrain,
    FuseSeat,
    GasSlot,
    Notch,
    TieLug,
    WallHole,
)
from layouts.enclosures.support_pads import SupportPad
from layouts.formats import screws
from layouts.holders.fastening import SADDLE_PAD_RADIUS_MM, CellBlock, fasten
from layouts.holders.shape import cell_block_shape
from layouts.pack import Pack, Side
from layouts.parts.fasteners import insert_hole_deep_mm
from layouts.parts.glands import gland_for
from layouts.parts.shell import Rect, box
from layouts.plates.ways_out import ways_out
from layouts.strips.laying import join
from tests.layouts.boxed import arrange
from tests.samples import sample_pack

PACKS = ("3S2P", "4S3P", "10S4P")
LANE_MM, PORT_MM = (25.0, 45.0), (20.0, 30.0)
LEG_MM, HOOK_MM, HOOK_IN_MM = 2.0, 1.8, 4.5  # of a board's guides
SEAT_MM = (50.0, 20.0)  # a fuse holder's plan
PAD_MM, PAD_OUT_MM = 34.0, 10.0


@cache
def hand_made(name: str) -> FittedSizes:
    """One of ``PACKS``, with every kind of fitting."""
    pack = {
        "3S2P": lambda: sample_pack(3, 2, format="18650"),
        "4S3P": lambda: sample_pack(4, 3),
        "10S4P": lambda: sample_pack(10, 4),
    }[name]()
    case = replace(pack.enclosure, wall_mm=1.67, lid_mm=2.0, side_gap_mm=0.8)
    pack = replace(pack, enclosure=case)
    cell_layout = arrange(pack)
    interconnect = join(pack, cell_layout)
    cell_block = fasten(pack, cell_layout, interconnect)
    held = cell_block_shape(cell_block.outline)
    fixed = rooms_at_cells(pack, ways_out(pack, interconnect, held), held)
    shell, lane = _walled(pack, cell_block, fixed, held)
    return _fitted_out(pack, cell_block, shell, lane)


@cache
def cornered(name: str) -> FittedSizes:
    """One of ``PACKS``, with one more lid screw in an inner corner of a dry room."""
    return _with_corner_screw(hand_made(name))


def _with_corner_screw(sizes: FittedSizes) -> FittedSizes:
    ring = loop_polygon(sizes.shell.inner.loop).exterior
    keep = [box(rect) for rect in (*sizes.board.guides, *sizes.board.rests)]
    keep += [shapely.Point(s.at_mm).buffer(s.radius_mm) for s in sizes.shell.screws]
    keep += [shapely.Point(*hole.at_mm[:2]).buffer(9.0) for hole in sizes.holes]
    for room in sizes.shell.rooms:
        if room.kind in (RoomKind.CHARGE, RoomKind.FUSE):
            r = room.rect.grown(-2.6)
            for x, y in itertools.product((r.x0, r.x1), (r.y0, r.y1)):
                at = shapely.Point(x, y)
                if ring.distance(at) < 2.5 and at.distance(shapely.union_all(keep)) > 4.5:
                    foot = ring.interpolate(ring.project(at))
                    screw = LidScrew(x_mm=x, y_mm=y, insert=True, foot_mm=(foot.x, foot.y))
                    shell = replace(sizes.shell, screws=(*sizes.shell.screws, screw))
                    return replace(sizes, shell=shell)
    raise AssertionError("no free corner")


def _walled(
    pack: Pack, cell_block: CellBlock, fixed: tuple[Room, ...], held: shapely.Polygon
) -> tuple[ShellPlan, int]:
    """Walls round the first set of rooms that has any, and at which end the glands stand."""
    free = shapely.box(*held.bounds).buffer(160.0, join_style="mitre")
    needs = room_needs(pack, levels_of(pack).inside_mm)
    rates = PlasticRates(plan_mm=5.0, wall_mm2=140.0)
    cells = held.buffer(pack.enclosure.side_gap_mm)
    raster = shift_raster(free, held)
    assert raster is not None
    sets = place_rooms(
        cells, fixed, needs, raster, rates, out_mm=4.0, lane_mm=LANE_MM, port_lane_mm=PORT_MM
    )
    for found in sets:
        rooms = (*fixed, *found.rooms)
        assert found.lane is not None
        end = gland_lanes(found.fuse.rect, LANE_MM).index(found.lane)
        try:
            shell = shell_round(pack, cell_block, rooms, free, lanes=[box(found.lane)], held=held)
        except OutlineError:
            continue
        return shell, end
    raise AssertionError("no walls round this pack")


def _fitted_out(pack: Pack, cell_block: CellBlock, shell: ShellPlan, end: int) -> FittedSizes:
    case = pack.enclosure
    board = _one(shell, RoomKind.BOARD)
    fuse = _one(shell, RoomKind.FUSE)
    thread, inserts = screws()[case.screw], screws()["M4"]
    return FittedSizes(
        shell=shell,
        insert_deep_mm=insert_hole_deep_mm(case.screw, case.insert_mm),
        lid_hole_radius_mm=thread.clearance_diameter_mm / 2,
        support_pads_floor=_support_pads(cell_block, cell_block.saddles_lower),
        support_pads_lid=_support_pads(cell_block, cell_block.saddles_upper),
        support_pad_floor_mm=case.gas_gap_mm,
        support_pad_lid_mm=case.gas_gap_mm - 0.1,
        openings=_openings(shell),
        notches=(_notch(shell),),
        stops=(),
        stop_z1_mm=5.0,
        gas_side=Side.MINUS_X,
        ducts=(Duct(side=Side.MINUS_X, section_mm2=50.0, slots=_slots(shell)),),
        drains=tuple(
            FloorDrain(
                x_mm=room.rect.centre_mm[0], y_mm=room.rect.centre_mm[1] + 1.0, radius_mm=2.0
            )
            for room in shell.rooms
            if room.kind in (RoomKind.FUSE, RoomKind.CHARGE)
        ),
        board=_board_seat(pack, shell, board.rect),
        fuse=_fuse_seat(shell, fuse.rect),
        tie_lugs=_tie_lugs(shell, fuse.rect),
        holes=_holes(pack, shell, fuse.rect, end),
        pads=_pads(shell),
        pad_width_mm=PAD_MM,
        pad_hole_radius_mm=inserts.insert_hole_diameter_mm / 2,
        pad_hole_deep_mm=inserts.insert_deep_mm,
    )


def _one(shell: ShellPlan, kind: RoomKind) -> Room:
    return next(room for room in shell.rooms if room.kind is kind)


def _support_pads(cell_block: CellBlock, saddles: np.ndarray) -> tuple[SupportPad, ...]:
    posts = [
        SupportPad(x_mm=p.x_mm, y_mm=p.y_mm, radius_mm=5.0, hole_radius_mm=3.3)
        for p in cell_block.posts
    ]
    discs = [
        SupportPad(x_mm=float(x), y_mm=float(y), radius_mm=SADDLE_PAD_RADIUS_MM, hole_radius_mm=0.0)
        for x, y in saddles
        if all(math.dist((x, y), (p.x_mm, p.y_mm)) > 8.0 for p in posts)
    ]
    return (*posts, *discs)


def _openings(shell: ShellPlan) -> tuple[Rect, ...]:
    """Each landing, and on past the partition into the cells' hollows."""
    middle = loop_polygon(shell.cells).centroid
    found = []
    for room in shell.rooms:
        if room.kind is RoomKind.LANDING:
            r = room.rect
            x, y = r.centre_mm
            if abs(x - middle.x) > abs(y - middle.y):
                a, b = (-10.0, 0.0) if x > middle.x else (0.0, 10.0)
                found.append(Rect(x0=r.x0 + a, x1=r.x1 + b, y0=r.y0, y1=r.y1))
            else:
                a, b = (-10.0, 0.0) if y > middle.y else (0.0, 10.0)
                found.append(Rect(x0=r.x0, x1=r.x1, y0=r.y0 + a, y1=r.y1 + b))
    return tuple(found)


def _turned(long_x: bool, origin: tuple[float, float], a: Rect) -> Rect:
    """A rectangle given along a room's long side (x) and across it (y), put into the room."""
    x, y = origin
    if long_x:
        return Rect(x0=x + a.x0, x1=x + a.x1, y0=y + a.y0, y1=y + a.y1)
    return Rect(x0=x + a.y0, x1=x + a.y1, y0=y + a.x0, y1=y + a.x1)


def _board_seat(pack: Pack, shell: ShellPlan, room: Rect) -> BoardSeat:
    """On edge along the room's long side, against the side nearer to the wall."""
    ring = loop_polygon(shell.inner.loop).exterior
    long_x = room.size_mm[0] >= room.size_mm[1]
    long, deep = max(room.size_mm), min(room.size_mm)
    x, y = room.centre_mm
    low = (x, room.y0) if long_x else (room.x0, y)
    high = (x, room.y1) if long_x else (room.x1, y)
    at_low = ring.distance(shapely.Point(low)) < ring.distance(shapely.Point(high))
    thick = pack.bms.board_mm[2]

    def across(a: float, b: float) -> tuple[float, float]:
        return (a, b) if at_low else (deep - b, deep - a)

    def put(x0: float, x1: float, a: float, b: float) -> Rect:
        y0, y1 = across(a, b)
        return _turned(long_x, (room.x0, room.y0), Rect(x0=x0, x1=x1, y0=y0, y1=y1))

    far = thick + 1.0
    legs = [put(0.2, 0.2 + LEG_MM, -0.9, far), put(long - 0.2 - LEG_MM, long - 0.2, -0.9, far)]
    hooks = [
        put(0.2, 0.2 + HOOK_IN_MM, far, far + HOOK_MM),
        put(long - 0.2 - HOOK_IN_MM, long - 0.2, far, far + HOOK_MM),
    ]
    rests = [put(4.0, 10.0, -0.9, thick), put(long - 10.0, long - 4.0, -0.9, thick)]
    z0 = shell.levels.floor_mm + 2.0
    z1 = min(z0 + max(pack.bms.board_mm[1], 25.0), shell.levels.rim_mm - 2.0)
    return BoardSeat(
        board=put(2.5, long - 2.5, 0.5, 0.5 + thick), z0_mm=z0, z1_mm=z1,
        guides=(*legs, *hooks), guide_z1_mm=z1 - 4.0, rests=tuple(rests),
    )  # fmt: skip


def _fuse_seat(shell: ShellPlan, room: Rect) -> FuseSeat:
    long_x = room.size_mm[0] >= room.size_mm[1]
    half, deep = SEAT_MM[0] / 2, min(room.size_mm) / 2
    x, y = room.centre_mm
    a, b = half - 12.0, deep - 2.2

    def put(x0: float, x1: float, y0: float, y1: float) -> Rect:
        return _turned(long_x, (x, y), Rect(x0=x0, x1=x1, y0=y0, y1=y1))

    return FuseSeat(
        plan=put(-half, half, -b, b), walls=(put(-a, a, b, b + 1.26), put(-a, a, -b - 1.26, -b)),
        wall_z1_mm=shell.levels.floor_mm + 8.0,
    )  # fmt: skip


def _tie_lugs(shell: ShellPlan, room: Rect) -> tuple[TieLug, ...]:
    long_x = room.size_mm[0] >= room.size_mm[1]
    floor = shell.levels.floor_mm
    return tuple(
        TieLug(
            block=_turned(
                long_x, room.centre_mm, Rect(x0=at - 3.0, x1=at + 3.0, y0=-4.0, y1=4.0)
            ),
            axis=0 if long_x else 1, hole_z_mm=floor + 3.5, hole_radius_mm=2.0, z1_mm=floor + 7.5,
        )
        for at in (-16.0, 16.0)
    )  # fmt: skip


def _holes(pack: Pack, shell: ShellPlan, room: Rect, end: int) -> tuple[WallHole, ...]:
    """Two glands one above the other in the end wall of the fuse's room."""
    long_x = room.size_mm[0] >= room.size_mm[1]
    side = ((Side.PLUS_X, Side.MINUS_X) if long_x else (Side.PLUS_Y, Side.MINUS_Y))[end]
    inside = {
        Side.PLUS_X: room.x1, Side.MINUS_X: -room.x0, Side.PLUS_Y: room.y1, Side.MINUS_Y: -room.y0,
    }[side]  # fmt: skip
    gland = gland_for(pack.leads.outside_mm)
    first = shell.levels.floor_mm + gland.keep_radius_mm + 2.0
    return tuple(
        WallHole(
            gland=gland, purpose=purpose, side=side, face_mm=inside + shell.wall_mm,
            along_mm=room.centre_mm[1 if long_x else 0], z_mm=z, wire_mm=pack.leads.outside_mm,
        )
        for purpose, z in (
            ("pack minus", first), ("pack plus", first + 2 * gland.keep_radius_mm + 1.0),
        )
    )  # fmt: skip


def _notch(shell: ShellPlan) -> Notch:
    """Where the partition passes nearest to the board's room."""
    ring = loop_polygon(shell.partition).exterior
    board = _one(shell, RoomKind.BOARD).plan
    at = shapely.get_coordinates(ring)
    x, y = at[int(np.argmin(shapely.distance(shapely.points(at), board.centroid)))].tolist()
    return Notch(
        rect=Rect(x0=x - 4.0, x1=x + 4.0, y0=y - 4.0, y1=y + 4.0), z0_mm=shell.levels.rim_mm - 15.0
    )


def _slots(shell: ShellPlan) -> tuple[GasSlot, ...]:
    """Along the wall, away from rooms and bosses."""
    ring = loop_polygon(shell.outer).exterior
    rooms = shapely.union_all([room.plan for room in shell.rooms])
    bosses = shapely.union_all([shapely.Point(s.at_mm).buffer(s.radius_mm) for s in shell.screws])
    found: list[GasSlot] = []
    for at in np.arange(0.0, ring.length, 11.0).tolist():
        p, q = ring.interpolate(at), ring.interpolate(at + 0.1)
        u, v = (
            (q.y - p.y) / math.dist(p.coords[0], q.coords[0]),
            (p.x - q.x) / math.dist(p.coords[0], q.coords[0]),
        )
        slot = GasSlot(at_mm=(p.x - u * 0.83, p.y - v * 0.83), out=(u, v), wide_mm=5.0, long_mm=4.0)
        shape = shapely.Polygon(slot.corners_mm)
        if shape.distance(rooms) > 8.0 and shape.distance(bosses) > 1.0:
            found.append(slot)
    return tuple(found)


def _pads(shell: ShellPlan) -> tuple[MountingPad, ...]:
    """One before the longest free stretch of two walls."""
    outer = loop_polygon(shell.outer)
    x0, y0, x1, y1 = outer.bounds
    keep = shapely.union_all(
        [
            *(shapely.Point(s.at_mm).buffer(s.radius_mm) for s in shell.screws),
            *(room.plan for room in shell.rooms if room.kind is RoomKind.FUSE),
        ]
    )
    found = []
    for side, out in (
        (Side.PLUS_X, x1), (Side.MINUS_X, -x0), (Side.PLUS_Y, y1), (Side.MINUS_Y, -y0),
    ):  # fmt: skip
        low, high = (y0, y1) if side in (Side.PLUS_X, Side.MINUS_X) else (x0, x1)
        for along in np.arange(low + 18.0, high - 18.0, 2.0).tolist():
            pad = MountingPad(
                side=side, along_mm=along, face_mm=out + PAD_OUT_MM,
                underside_mm=shell.levels.under_mm,
            )  # fmt: skip
            block = box(_before(pad, out - 9.0, out))
            whole = box(_before(pad, out - 20.0, out + PAD_OUT_MM))
            held = block.intersection(outer).area > 0.6 * block.area
            if held and whole.distance(keep) > 2.0:
                found.append(pad)
                break
    return tuple(found)


def _before(pad: MountingPad, near_mm: float, far_mm: float) -> Rect:
    (xa, ya), (xb, yb) = (
        pad.at_mm(pad.along_mm + off, out)
        for off, out in ((-PAD_MM / 2, near_mm), (PAD_MM / 2, far_mm))
    )
    return Rect(x0=min(xa, xb), x1=max(xa, xb), y0=min(ya, yb), y1=max(ya, yb))
