"""Where rooms stand round the held cells."""

from __future__ import annotations

import itertools
from functools import cache

import pytest
import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted import placing
from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.placing import (
    FUSE_REACH_MM,
    SETS_MOST,
    PlasticRates,
    RoomSet,
    gland_lanes,
    place_rooms,
)
from layouts.enclosures.fitted.poses import ShiftRaster, shift_raster
from layouts.enclosures.fitted.rooms import PARTITION_MM, PLAY_MM, Room, RoomKind, RoomNeed
from layouts.parts.shell import Rect, box

CELLS = shapely.box(0.0, 0.0, 100.0, 60.0)
RATES = PlasticRates(plan_mm=5.0, wall_mm2=140.0)
LANE_MM = (25.0, 45.0)
PORT_MM = (20.0, 30.0)
BOARD = RoomNeed(kind=RoomKind.BOARD, plans_mm=((65.0, 21.0), (30.0, 21.0)))
FUSE = RoomNeed(kind=RoomKind.FUSE, plans_mm=((62.0, 31.4),))
CHARGE = RoomNeed(kind=RoomKind.CHARGE, plans_mm=((30.0, 26.0),))
NEEDS = (BOARD, FUSE, CHARGE)


def fixed_room(kind: RoomKind, name: str, x0: float, x1: float, y0: float, y1: float) -> Room:
    """One that stands already."""
    return Room(kind=kind, name=name, rect=Rect(x0=x0, x1=x1, y0=y0, y1=y1))


FIXED = (
    fixed_room(RoomKind.LANDING, "pack minus", 95.0, 112.0, 5.0, 15.0),
    fixed_room(RoomKind.LANDING, "pack plus", 95.0, 112.0, 45.0, 55.0),
    fixed_room(RoomKind.WAY, "way of the main leads", 101.31, 109.81, 5.0, 55.0),
)
WIDE = shapely.box(-150.0, -150.0, 300.0, 250.0)
FREES: dict[str, BaseGeometry] = {
    "wide": WIDE,
    "on +x": shapely.box(-6.0, -6.0, 300.0, 66.0),
    "cut": WIDE.difference(shapely.box(120.0, -150.0, 300.0, 22.0)),
    "round": shapely.Point(80.0, 30.0).buffer(115.0),
}


def placed(
    free: BaseGeometry,
    needs: tuple[RoomNeed, ...] = NEEDS,
    lane_mm: tuple[float, float] = LANE_MM,
) -> list[RoomSet]:
    """Sets of rooms beside the cells."""
    return placed_beside(FIXED, free, needs, lane_mm)


def placed_beside(
    fixed: tuple[Room, ...],
    free: BaseGeometry,
    needs: tuple[RoomNeed, ...],
    lane_mm: tuple[float, float] = LANE_MM,
) -> list[RoomSet]:
    """Sets of rooms beside the cells and what stands there already."""
    raster = raster_of(free)
    return place_rooms(
        CELLS, fixed, needs, raster, RATES, out_mm=0.0, lane_mm=lane_mm, port_lane_mm=PORT_MM
    )


def nothing(free: BaseGeometry, needs: tuple[RoomNeed, ...], kind: RoomKind) -> None:
    """One room finds no place, and is named."""
    with pytest.raises(OutlineError, match=f"the room for {kind.value} finds no place"):
        placed(free, needs)


@cache
def raster_of(free: BaseGeometry) -> ShiftRaster:
    """Shifts of the cells and their landings in a free area."""
    raster = shift_raster(free, shapely.union_all([CELLS, *(room.plan for room in FIXED)]))
    assert raster is not None
    return raster


@cache
def placed_in(name: str) -> list[RoomSet]:
    """All three rooms in one of ``FREES``."""
    return placed(FREES[name])


def overlap(one: Room, other: Room) -> bool:
    """Whether two rooms share more than a line's play."""
    return one.plan.buffer(-PLAY_MM).intersects(other.plan)


@pytest.mark.parametrize("name", FREES)
def test_rooms_stand_in_the_free_area_and_on_nothing(name: str) -> None:
    """None on another, on the cells' partition or on a landing; only the board over the way. Each
    has a plan that was asked for, and all with the cells make one outline."""
    sets = placed_in(name)
    assert sets and len(sets) <= SETS_MOST
    walled = CELLS.buffer(PARTITION_MM - PLAY_MM - 0.01)
    raster = raster_of(FREES[name])
    free = FREES[name].buffer(raster.step_mm)
    for one in sets:
        shift = raster.roomiest_mm(one.shifts)
        assert one.lane is not None and free.contains(translate(box(one.lane), *shift))
        assert [room.kind for room in one.rooms] == [need.kind for need in NEEDS]
        for room, need in zip(one.rooms, NEEDS, strict=True):
            size = tuple(sorted((round(v, 6) for v in room.rect.size_mm), reverse=True))
            assert size in need.plans_mm
            assert free.contains(translate(room.plan, *shift))
            assert not room.plan.intersects(walled)
            beside = FIXED[:2] if room.kind is RoomKind.BOARD else FIXED
            assert not any(overlap(room, other) for other in beside)
        assert not any(overlap(a, b) for a, b in itertools.combinations(one.rooms, 2))
        assert one.shape.buffer(4.0).buffer(-4.0).geom_type == "Polygon"


@pytest.mark.parametrize("name", FREES)
def test_wires_reach_and_a_lane_stays(name: str) -> None:
    """The fuse within its reach of pack plus, and one end wall of its room with nothing before."""
    plus = FIXED[1].plan
    for one in placed_in(name):
        (fuse,) = (room for room in one.rooms if room.kind is RoomKind.FUSE)
        assert fuse.plan.distance(plus) < FUSE_REACH_MM
        taken = shapely.union_all(
            [CELLS, *(room.plan for room in (*FIXED, *one.rooms) if room is not fuse)]
        )
        lanes = [box(lane) for lane in gland_lanes(fuse.rect, LANE_MM)]
        assert any(not lane.buffer(-0.1).intersects(taken) for lane in lanes)


def test_sets_are_sorted_and_differ() -> None:
    """Those with a charge port first, the one with the least plastic before the others, by the
    outline that its rooms make."""
    sets = placed_in("wide")
    costs = [one.cost for one in sets]
    assert costs == sorted(costs)
    told = {(one.rooms[-1].rect, one.lane, one.port_lane) for one in sets}
    assert len(told) == len(sets) > 1
    for one in sets:
        expected = one.shape.area * 5.0 + one.shape.length * 140.0
        apart = placing.APART_MM3 * (one.shape.geom_type != "Polygon")
        assert one.plastic_mm3 == pytest.approx(expected + apart)


def test_nothing_is_placed_where_the_free_area_is_too_small() -> None:
    """Round the cells alone, or for two of three rooms only."""
    nothing(shapely.box(-6.0, -6.0, 116.0, 66.0), NEEDS, RoomKind.BOARD)
    narrow = shapely.box(-6.0, -6.0, 150.0, 66.0)
    assert placed(narrow, (BOARD, CHARGE)) != []
    nothing(narrow, NEEDS, RoomKind.FUSE)
    nothing(WIDE, (RoomNeed(kind=RoomKind.BOARD, plans_mm=()), FUSE), RoomKind.BOARD)


def test_fuse_beyond_its_reach_is_not_placed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A long room leads on to the only place for it; with a longer reach it is taken."""
    needs = (RoomNeed(kind=RoomKind.CHARGE, plans_mm=((160.0, 12.0),)), FUSE)
    free = shapely.box(-6.0, -6.0, 275.0, 66.0).union(shapely.box(260.0, -6.0, 400.0, 120.0))
    free = free.difference(shapely.box(112.0, 13.0, 259.0, 66.0))
    free = free.difference(shapely.box(112.0, -6.0, 259.0, -2.0))
    nothing(free, needs, RoomKind.FUSE)
    monkeypatch.setattr(placing, "FUSE_REACH_MM", 400.0)
    found = placed(free, needs)
    assert found
    for one in found:
        assert one.rooms[1].plan.distance(FIXED[1].plan) > FUSE_REACH_MM


def test_reach_counts_from_pack_plus(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a reach of 3 the fuse stands at the landing of pack plus."""
    monkeypatch.setattr(placing, "FUSE_REACH_MM", 3.0)
    found = placed(WIDE, (FUSE,))
    assert found and all(one.rooms[0].plan.distance(FIXED[1].plan) < 3.0 for one in found)


def test_only_the_board_stands_over_the_way_of_the_leads() -> None:
    """A plan that fits between the landings: the board's goes there, another room's does not."""
    way = FIXED[2].plan.buffer(-PLAY_MM)
    for kind, over in ((RoomKind.BOARD, True), (RoomKind.CHARGE, False)):
        found = placed(WIDE, (RoomNeed(kind=kind, plans_mm=((20.0, 16.0),)),))
        assert found and any(one.rooms[0].plan.intersects(way) for one in found) is over


def test_no_fuse_between_two_things() -> None:
    """Cells before one end wall of its room; with a channel before the other it finds no place."""
    free = shapely.box(-0.5, -0.5, 240.0, 60.5)
    assert placed(free, (FUSE,)) != []
    channel = fixed_room(RoomKind.TAILS, "tails", 185.0, 190.0, 0.0, 60.0)
    with pytest.raises(OutlineError, match="main fuse"):
        placed_beside((*FIXED, channel), free, (FUSE,))


def test_no_room_stands_in_the_only_lane() -> None:
    """Beside the fuse's room there is place for one more only before its glands: with a lane none
    is placed, without one it is."""
    free = shapely.box(99.0, 0.0, 225.0, 33.5).union(shapely.box(-1.0, -1.0, 113.0, 61.0))
    assert placed(free, (FUSE,), LANE_MM) != []
    nothing(free, (FUSE, CHARGE), RoomKind.CHARGE)
    assert placed(free, (FUSE, CHARGE), (0.01, 0.01)) != []


@pytest.mark.parametrize("tall", [False, True])
def test_lanes_lie_before_the_end_walls(tall: bool) -> None:
    """As wide and long as asked for, on the room's short sides."""
    rect = Rect(x0=10.0, x1=40.0, y0=5.0, y1=75.0) if tall else Rect(x0=5, x1=75, y0=10, y1=40)
    lanes = gland_lanes(rect, (20.0, 45.0))
    if tall:
        assert lanes[0] == Rect(x0=15.0, x1=35.0, y0=75.0, y1=120.0)
        assert lanes[1] == Rect(x0=15.0, x1=35.0, y0=-40.0, y1=5.0)
    else:
        assert lanes[0] == Rect(x0=75.0, x1=120.0, y0=15.0, y1=35.0)
        assert lanes[1] == Rect(x0=-40.0, x1=5.0, y0=15.0, y1=35.0)


def test_plastic_of_an_outline_by_hand() -> None:
    """Plan and wall each at its rate; a second part costs more than its own wall."""
    one = shapely.box(0, 0, 10, 20)
    two = one.union(shapely.box(30, 0, 40, 20))
    alone, both = RATES.mm3(shapely.from_wkt([one.wkt, two.wkt]))
    assert alone == pytest.approx(200 * 5 + 60 * 140)
    assert both == pytest.approx(400 * 5 + 120 * 140 + placing.APART_MM3)
