"""Sets of rooms that leave place for glands, brackets and gas."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from layouts.enclosures.fitted.case import FittedCase
from layouts.enclosures.fitted.placing import RoomSet
from layouts.enclosures.fitted.promises import (
    lanes_of,
    lanes_shape,
    open_sides,
    outlets_of,
    promises_of,
)
from layouts.enclosures.fitted.rooms import Room, RoomKind, rooms_at_cells
from layouts.enclosures.fitted.shell import levels_of
from layouts.enclosures.fitted.stands import Pose, cells_find_room, free_of, poses_of
from layouts.holders.shape import cell_block_shape
from layouts.pack import Side
from layouts.parts.shell import Rect, box
from layouts.plates.ways_out import ways_out
from tests.layouts.enclosures.fitted.planned import pack_of, planned


@cache
def case_in(space: str) -> FittedCase:
    """Held cells of the smaller pack in a space."""
    plan = planned("3S2P")
    pack = pack_of("3S2P", space)
    held = cell_block_shape(plan.cell_block.outline)
    fixed = rooms_at_cells(pack, ways_out(pack, plan.interconnect, held), held)
    return FittedCase(
        pack=pack, cell_block=plan.cell_block, held=held, fixed=fixed, levels=levels_of(pack),
        metal=shapely.Polygon(),
    )  # fmt: skip


def poses(space: str) -> list[Pose]:
    """All turns in it."""
    case = case_in(space)
    return list(poses_of(case, free_of(case)))


def set_of(*rooms: Room, lane: Rect, port_lane: Rect | None = None) -> RoomSet:
    """Rooms with the lanes of their glands."""
    return RoomSet(
        rooms=rooms, plastic_mm3=1.0, shape=shapely.Polygon(), shifts=np.ones((1, 1), dtype=bool),
        lane=lane, port_lane=port_lane,
    )  # fmt: skip


def room(kind: RoomKind, x0: float, x1: float, y0: float, y1: float) -> Room:
    """One of a kind."""
    return Room(kind=kind, name=kind.value, rect=Rect(x0=x0, x1=x1, y0=y0, y1=y1))


def test_a_long_space_takes_one_turn_a_box_two() -> None:
    """A box is the same after half a turn; one narrower than the held cells are long takes the one
    along it."""
    x0, y0, x1, y1 = case_in("").cells_plan.bounds
    wide, deep = x1 - x0, y1 - y0
    assert wide != deep
    assert [pose.turn_deg for pose in poses("space: {box_mm: [300, 300, 110]}\n")] == [0, 90]
    narrow = (wide + deep) / 2
    (only,) = poses(f"space: {{box_mm: [300, {narrow:.1f}, 110]}}\n")
    assert only.turn_deg == (0 if deep < wide else 90)
    assert poses("space: {box_mm: [40, 40, 110]}\n") == []
    assert [pose.turn_deg for pose in poses("")] == [0]


def test_held_cells_find_room_by_their_walls() -> None:
    """By gap, wall, play and lip on each side, and the gap to the space; along or across."""
    pack = pack_of("3S2P", "space: {box_mm: [100, 60, 110]}\n")
    off = 2 * (0.8 + 1.68 + 0.4 + 1.26 + 0.4)
    assert cells_find_room(pack, (100 - off - 1.0, 60 - off - 1.0))
    assert cells_find_room(pack, (60 - off - 1.0, 100 - off - 1.0))
    assert not cells_find_room(pack, (60 - off + 1.5, 60 - off + 1.5))
    assert cells_find_room(pack_of("3S2P"), (900.0, 900.0))


@pytest.mark.slow
def test_every_promise_has_its_lanes_and_a_side_for_gas() -> None:
    """Its rooms and the lanes of its glands lie in the free area with each of its shifts, to a
    raster's step, and gas has a side without glands."""
    case = case_in("space: {box_mm: [220, 190, 110]}\n")
    for pose in poses_of(case, free_of(case)):
        promises = list(promises_of(case, pose))
        assert promises
        free = pose.free.buffer(pose.raster.step_mm, join_style="mitre")
        for one in promises:
            assert one.shifts.any() and one.rooms.plastic_mm3 >= one.least_mm3
            x, y = pose.raster.roomiest_mm(one.shifts)
            lanes = lanes_shape(lanes_of(one.rooms))
            whole = shapely.union_all([lanes, *(room.plan for room in one.rooms.rooms)])
            assert free.contains(shapely.affinity.translate(whole, x, y))
            sides = open_sides(case, one.rooms)
            assert sides and not sides & set(outlets_of(one.rooms))


def test_a_room_before_a_flank_shuts_it_for_gas() -> None:
    """Each side without glands and without a dry room all along it, or nearly so."""
    case = replace(case_in(""), fixed=())
    x0, y0, x1, y1 = case.held.bounds
    fuse = room(RoomKind.FUSE, x1 + 2, x1 + 30, y0, y0 + 62)
    lane = Rect(x0=x1 + 3, x1=x1 + 28, y0=y0 - 60, y1=y0)
    board = room(RoomKind.BOARD, x0 - 25, x0 - 2, y0 - 5, y1 + 5)
    assert outlets_of(set_of(fuse, lane=lane)) == (Side.MINUS_Y, None)
    tall = replace(case, held=shapely.box(x0, y0, x1, y0 + 120))
    assert open_sides(tall, set_of(fuse, lane=lane)) == {Side.PLUS_X, Side.MINUS_X, Side.PLUS_Y}
    long_board = room(RoomKind.BOARD, x0 - 25, x0 - 2, y0, y0 + 90)  # 30 are left
    assert open_sides(tall, set_of(fuse, long_board, lane=lane)) == {Side.PLUS_X, Side.PLUS_Y}
    wet = replace(board, kind=RoomKind.TAILS)
    assert Side.MINUS_X in open_sides(tall, set_of(fuse, wet, lane=lane))


def test_a_charge_port_has_a_side_too() -> None:
    """That of its lane."""
    fuse = room(RoomKind.FUSE, 0, 62, 0, 28)
    charge = room(RoomKind.CHARGE, 0, 30, 40, 66)
    lane, port = Rect(x0=62, x1=120, y0=2, y1=26), Rect(x0=5, x1=25, y0=66, y1=100)
    rooms = set_of(fuse, charge, lane=lane, port_lane=port)
    assert outlets_of(rooms) == (Side.PLUS_X, Side.PLUS_Y)
    assert lanes_of(rooms) == (lane, port)
    assert lanes_shape((lane, port)).equals(box(lane).union(box(port)))
