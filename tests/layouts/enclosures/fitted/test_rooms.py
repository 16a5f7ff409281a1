"""Rooms beside the held cells: what needs one, how large, and those at the cells."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.rooms import (
    CHANNEL_MM,
    OPEN_TO_GAS,
    PARTITION_MM,
    PLAY_MM,
    Room,
    RoomKind,
    board_poses,
    room_needs,
    rooms_at_cells,
)
from layouts.pack import Face, Pack, Side
from layouts.parts.shell import Rect
from layouts.plates.ways_out import WayOut
from tests.samples import sample_pack

HELD = shapely.box(-50.0, -30.0, 50.0, 30.0)
GAP = 0.8


def pack_of(*, lead_mm: float = 6.5, board_mm: tuple[float, float, float] = (60, 25, 8)) -> Pack:
    """An invented pack, its lead and its board."""
    pack = sample_pack(3, 2)
    return replace(
        pack,
        leads=replace(pack.leads, outside_mm=lead_mm),
        bms=replace(pack.bms, board_mm=board_mm),
        enclosure=replace(pack.enclosure, side_gap_mm=GAP),
    )


def way(purpose: str, x0: float, y0: float, x1: float, y1: float) -> WayOut:
    """Metal over a rectangle."""
    return WayOut(
        purpose=purpose, face=Face.LOWER, groups=(1,), space=shapely.box(x0, y0, x1, y1),
        reach_mm=0.0, outward_mm=0.0, inward_mm=0.0,
    )  # fmt: skip


MINUS = way("pack minus", 40.0, -28.0, 62.0, -20.0)
PLUS = way("pack plus", 40.0, 10.0, 58.0, 18.0)


def rooms_of(*ways: WayOut, held: BaseGeometry = HELD) -> dict[str, Rect]:
    """The rooms at the cells by their names, each name once."""
    rooms = rooms_at_cells(pack_of(), ways, held)
    found = {room.name: room.rect for room in rooms}
    assert len(found) == len(rooms)
    return found


def assert_rect(rect: Rect, x0: float, x1: float, y0: float, y1: float) -> None:
    """Its four edges."""
    assert (rect.x0, rect.x1, rect.y0, rect.y1) == pytest.approx((x0, x1, y0, y1), abs=1e-9)


def test_board_stands_on_edge_where_the_cavity_is_high_enough() -> None:
    """A board of 60 x 25 x 8: on its long edge from 26 on, on its short edge from 61 on, flat from
    21 on, the smallest plan first; in less no pose and no plan."""

    def plans(inside_mm: float) -> list[tuple[bool, tuple[float, float]]]:
        return [(pose.on_edge, pose.plan_mm) for pose in board_poses(pack_of(), inside_mm)]

    short, long, flat = (True, (32.0, 21.0)), (True, (67.0, 21.0)), (False, (67.0, 32.0))
    assert plans(61.0) == [short, long, flat]
    assert plans(60.9) == [long, flat]
    assert plans(25.9) == [flat]
    assert plans(20.9) == []
    needs = {need.kind: need.plans_mm for need in room_needs(pack_of(), 20.9)}
    assert needs[RoomKind.BOARD] == ()


def test_a_square_board_has_one_pose_on_edge() -> None:
    """Turning it changes nothing."""
    poses = board_poses(pack_of(board_mm=(30.0, 30.0, 6.0)), 80.0)
    assert [pose.on_edge for pose in poses] == [True, False]
    assert poses[0].board_mm == (30.0, 6.0, 30.0)


@pytest.mark.parametrize(("lead_mm", "across_mm"), [(4.0, 25.4), (6.5, 28.4), (12.0, 48.0)])
def test_fuse_room_takes_holder_gland_and_bend(lead_mm: float, across_mm: float) -> None:
    """Its width: of the fuse holder, of a gland's nut between the corners, or of the wire's bend,
    whichever is largest."""
    needs = {need.kind: need.plans_mm for need in room_needs(pack_of(lead_mm=lead_mm), 80.0)}
    assert needs[RoomKind.FUSE] == ((62.0, pytest.approx(across_mm)),)
    assert needs[RoomKind.CHARGE] == ((30.0, 26.0),)
    assert next(iter(needs)) is RoomKind.BOARD  # it may stand over the leads' way


def test_landings_are_where_the_main_leads_end() -> None:
    """From inside the cells to past the metal's end, as wide as the metal and its gap."""
    rooms = rooms_of(MINUS, PLUS)
    assert_rect(rooms["pack minus"], 45.0, 64.0, -28.8, -19.2)
    assert_rect(rooms["pack plus"], 45.0, 60.0, 9.2, 18.8)


def test_way_of_the_leads_lies_behind_the_partition() -> None:
    """From landing to landing, as deep as a wire and its play, off the cells by gap and partition,
    off a channel by the partition; nowhere farther off than a gap more."""
    tails = way("balance lead 2", 40.0, -8.0, 51.0, -4.0)
    for ways, wet in (((MINUS, PLUS), 50.0), ((MINUS, PLUS, tails), 50.0 + CHANNEL_MM)):
        rect = rooms_of(*ways)["way of the main leads"]
        assert (rect.y0, rect.y1) == pytest.approx((-28.8, 18.8))
        assert rect.size_mm[0] == pytest.approx(6.5 + 2.0)
        assert GAP * (wet == 50.0) + PLAY_MM <= rect.x0 - wet - PARTITION_MM + 1e-9 < 2 * GAP + 0.2


@pytest.mark.parametrize("side", Side)
def test_landings_turn_with_the_metal(side: Side) -> None:
    """The same on every side of a square of cells."""
    square = shapely.box(-40.0, -40.0, 40.0, 40.0)
    turn = {Side.PLUS_X: 0, Side.PLUS_Y: 90, Side.MINUS_X: 180, Side.MINUS_Y: 270}[side]

    def turned(one: WayOut) -> WayOut:
        return replace(one, space=shapely.affinity.rotate(one.space, turn, origin=(0, 0)))

    lead = way("pack minus", 30.0, -28.0, 52.0, -20.0)
    rooms = rooms_at_cells(pack_of(), (turned(lead),), square)
    (room,) = (room for room in rooms if room.kind is RoomKind.LANDING)
    expected = shapely.affinity.rotate(shapely.box(35.0, -28.8, 54.0, -19.2), turn, origin=(0, 0))
    assert room.plan.symmetric_difference(expected).area < 1e-9


def test_no_way_between_landings_on_different_sides() -> None:
    """Nor with a single landing."""
    above = way("pack plus", 10.0, 20.0, 18.0, 38.0)
    for ways, ways_between in (((MINUS, PLUS), 1), ((MINUS, above), 0), ((MINUS,), 0)):
        kinds = [room.kind for room in rooms_at_cells(pack_of(), ways, HELD)]
        assert kinds.count(RoomKind.WAY) == ways_between
        assert kinds.count(RoomKind.LANDING) == len(ways)


def test_channel_covers_the_tails_of_its_side() -> None:
    """All tails of one side in one channel, from the flank's inside to its outside."""
    tails = [way(f"balance lead {k}", 40.0, y, 51.0, y + 4.0) for k, y in ((2, -10.0), (3, 2.0))]
    rooms = rooms_of(MINUS, PLUS, *tails)
    assert_rect(rooms["tails +x"], 45.0, 55.0, -13.0, 9.0)
    assert not any(name.startswith("tails") for name in rooms if name != "tails +x")


def corners_covered(rooms: dict[str, Rect]) -> set[tuple[int, int]]:
    """Corners of the held cells that channels lead round, as the signs of x and y."""
    channels = shapely.union_all(
        [shapely.box(r.x0, r.y0, r.x1, r.y1) for name, r in rooms.items() if "tails" in name]
    )
    found = set()
    for sx in (-1, 1):
        for sy in (-1, 1):
            x, y = sx * 50.0, sy * 30.0
            square = shapely.box(x, y, x + sx * CHANNEL_MM, y + sy * CHANNEL_MM)
            if channels.buffer(1e-9).contains(square):
                found.add((sx, sy))
    assert channels.geom_type == "Polygon"  # the leads get from each to every other
    return found


def test_channels_lead_round_corners_to_the_leads_side() -> None:
    """From the side beside, one corner; from the far side, two; on the leads' own side none."""
    above = way("balance lead 2", -10.0, 20.0, -6.0, 31.0)
    far = way("balance lead 3", -51.0, 2.0, -40.0, 6.0)
    own = way("balance lead 4", 40.0, -2.0, 51.0, 2.0)
    assert corners_covered(rooms_of(MINUS, PLUS, above)) == {(1, 1)}
    assert corners_covered(rooms_of(MINUS, PLUS, own)) == set()
    once = corners_covered(rooms_of(MINUS, PLUS, far))
    assert once in ({(-1, 1), (1, 1)}, {(-1, -1), (1, -1)})


@pytest.mark.parametrize("sign", [1, -1])
def test_a_channel_that_is_there_is_used(sign: int) -> None:
    """From the far side round by the side on which tails hang already."""
    far = way("balance lead 3", -51.0, 2.0, -40.0, 6.0)
    low, high = sorted((sign * 20.0, sign * 31.0))
    rooms = rooms_of(MINUS, PLUS, far, way("balance lead 2", -10.0, low, -6.0, high))
    assert corners_covered(rooms) == {(-1, sign), (1, sign)}
    assert len([name for name in rooms if "tails" in name]) == 3


def test_walls_stay_off_metal_that_crosses_hollows() -> None:
    """A bar over two hollows of the flank: a room for each; a crumb of a hollow has none."""
    held = HELD.difference(shapely.box(-30, 20, -20, 30)).difference(shapely.box(10, 20, 22, 30))
    bar = way("bridge", -45.0, 22.0, 40.0, 28.0)
    one, other = sorted(
        (rect for name, rect in rooms_of(MINUS, bar, held=held).items() if "bridge" in name),
        key=lambda rect: rect.x0,
    )
    assert_rect(one, -30.8, -19.2, 21.2, 28.8)
    assert_rect(other, 9.2, 22.8, 21.2, 28.8)
    crumb = way("bridge", -45.0, 22.0, -29.98, 28.0)
    assert not any("bridge" in name for name in rooms_of(MINUS, crumb, held=held))


def test_rooms_know_whether_gas_gets_in() -> None:
    """Channels, landings and metal beside the cells are open to it, all others dry."""
    rect = Rect(x0=0.0, x1=4.0, y0=0.0, y1=3.0)
    for kind in RoomKind:
        room = Room(kind=kind, name=kind.value, rect=rect)
        assert room.is_dry is (kind not in OPEN_TO_GAS)
        assert room.plan.area == 12.0
    assert {RoomKind.BOARD, RoomKind.FUSE, RoomKind.CHARGE, RoomKind.WAY}.isdisjoint(OPEN_TO_GAS)
