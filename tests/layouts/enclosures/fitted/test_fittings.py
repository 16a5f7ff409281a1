"""What stands in the rooms and goes through their walls."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
import shapely
from shapely.affinity import translate

from layouts.enclosures.board_seat import BoardSeat
from layouts.enclosures.fitted.fittings import (
    AT_WALL_MM,
    FUSE_MM,
    GUIDE_PLAY_MM,
    NOTCH_DEEP_MM,
    NUT_MM,
    STOP_MM,
    STOP_OFF_MM,
    board_seat,
    drains_of,
    fuse_seat,
    notches_of,
    stops_of,
    wall_holes,
)
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.rooms import Room, RoomKind, board_poses
from layouts.enclosures.fitted.shell import LIP_DEEP_MM, Levels
from layouts.enclosures.fitted.sides import axis_along, edge_mm, rect_at, span_mm
from layouts.enclosures.play import DIRECTIONS, HOLD_MM, play_mm
from layouts.enclosures.support_pads import SupportPad
from layouts.errors import PlanError
from layouts.pack import Pack, Side
from layouts.parts.shell import Rect, box
from tests.layouts.enclosures.fitted.plain_shells import LEVELS, grown, plain_shell
from tests.samples import sample_pack

INSIDE = shapely.box(0.0, 0.0, 200.0, 100.0)
CELLS = shapely.box(4.0, 4.0, 120.0, 70.0)
LOW = Levels(under_mm=-3.0, floor_mm=0.0, rim_mm=24.0, lid_mm=26.0)  # no board goes in on edge


def pack_of() -> Pack:
    """An invented pack with a board of 60 x 25 x 8."""
    pack = sample_pack(3, 2)
    return replace(pack, bms=replace(pack.bms, board_mm=(60.0, 25.0, 8.0)))


def room(kind: RoomKind, x0: float, x1: float, y0: float, y1: float, name: str = "") -> Room:
    """A room from its corners."""
    return Room(kind=kind, name=name or kind.value, rect=Rect(x0=x0, x1=x1, y0=y0, y1=y1))


def held_every_way(seat: BoardSeat, inside: shapely.Polygon) -> dict[str, bool]:
    """Whether the board, moved 2.5 each way, meets a guide or the wall."""
    board = box(seat.board)
    guides = shapely.union_all([box(guide) for guide in seat.guides])
    found = {}
    for name, (dx, dy) in DIRECTIONS.items():
        moved = translate(board, 2.5 * dx, 2.5 * dy)
        found[name] = moved.intersects(guides) or not inside.contains(moved)
    return found


def assert_seated(seat: BoardSeat, inside: shapely.Polygon) -> None:
    """The board stands free of its guides, wholly inside, on rests at both ends, over the floor."""
    board = box(seat.board)
    assert inside.buffer(1e-9).contains(board)
    for guide in seat.guides:
        assert board.distance(box(guide)) >= GUIDE_PLAY_MM - 1e-9
    rests = [box(rest).intersection(board) for rest in seat.rests]
    assert all(part.area > 20.0 for part in rests)
    assert shapely.union_all(rests).convex_hull.contains(board.centroid)
    assert all(held_every_way(seat, inside).values()), held_every_way(seat, inside)


ON_EDGE = {
    Side.PLUS_Y: room(RoomKind.BOARD, 20.0, 85.0, 79.0, 100.0),
    Side.PLUS_X: room(RoomKind.BOARD, 179.0, 200.0, 20.0, 85.0),
    Side.MINUS_Y: room(RoomKind.BOARD, 125.0, 190.0, 0.0, 21.0),
    Side.MINUS_X: room(RoomKind.BOARD, 0.0, 21.0, 72.0, 100.0),
}


@pytest.mark.parametrize("side", [Side.PLUS_Y, Side.PLUS_X, Side.MINUS_Y])
def test_board_on_edge_is_held_every_way(side: Side) -> None:
    """Against the outer wall, between legs and hooks, its wires' side free."""
    place = ON_EDGE[side]
    seat = board_seat(pack_of(), LEVELS, place, INSIDE, CELLS)
    assert_seated(seat, INSIDE)
    bounds = (place.rect.x0, place.rect.y0, place.rect.x1, place.rect.y1)
    board = (seat.board.x0, seat.board.y0, seat.board.x1, seat.board.y1)
    assert edge_mm(board, side) == edge_mm(bounds, side)
    assert sorted(seat.board.size_mm) == [8.0, 60.0]
    assert seat.z1_mm - seat.z0_mm == 25.0 and seat.z0_mm > LEVELS.floor_mm
    assert seat.z0_mm + 12.5 < seat.guide_z1_mm < seat.z1_mm
    for guide in seat.guides:
        assert place.plan.buffer(1e-9).contains(box(guide))
    face = place.plan.difference(box(seat.board)).intersection(
        box(seat.board).buffer(10.0).difference(box(seat.board.grown(0.6)))
    )
    guides = shapely.union_all([box(guide) for guide in seat.guides])
    assert guides.intersection(face).area < 0.15 * face.area


def test_a_board_without_hooks_is_not_held() -> None:
    """The measure of these tests: legs alone let it out to its wires' side, hooks alone along."""
    seat = board_seat(pack_of(), LEVELS, ON_EDGE[Side.PLUS_Y], INSIDE, CELLS)
    legs = replace(seat, guides=seat.guides[0::2])
    hooks = replace(seat, guides=seat.guides[1::2])
    assert [n for n, held in held_every_way(legs, INSIDE).items() if not held] == ["-y"]
    assert [n for n, held in held_every_way(hooks, INSIDE).items() if not held] == ["+x", "-x"]


def test_board_between_two_walls_stands_at_the_one_away_from_the_cells() -> None:
    """Both long sides on a wall: the farther from the cells, whose wires come to its face."""
    inside = shapely.box(0.0, 0.0, 200.0, 21.0)
    place = room(RoomKind.BOARD, 60.0, 125.0, 0.0, 21.0)
    for cells, edge in ((shapely.box(0, -50, 200, -5), 21.0), (shapely.box(0, 30, 200, 90), 0.0)):
        seat = board_seat(pack_of(), LEVELS, place, inside, cells)
        assert edge in (seat.board.y0, seat.board.y1)
    # one side a little off the wall is still on it, farther off not
    off = AT_WALL_MM + 0.5
    inside = shapely.box(0.0, -off, 200.0, 21.0)
    seat = board_seat(pack_of(), LEVELS, place, inside, shapely.box(0, 30, 200, 90))
    assert seat.board.y1 == 21.0


def test_board_between_two_rooms_has_hooks_on_both_faces() -> None:
    """Neither long side on a wall: held every way by guides alone, all of them in its room."""
    inside = shapely.box(-50.0, -50.0, 250.0, 150.0)
    place = room(RoomKind.BOARD, 20.0, 85.0, 79.0, 100.0)
    seat = board_seat(pack_of(), LEVELS, place, inside, CELLS)
    assert_seated(seat, inside)
    assert all(place.plan.buffer(1e-9).contains(box(guide)) for guide in seat.guides)
    at_wall = board_seat(pack_of(), LEVELS, place, INSIDE, CELLS)
    assert len(seat.guides) == len(at_wall.guides) + 2
    one_face = replace(seat, guides=[g for k, g in enumerate(seat.guides) if k % 3 != 2])
    assert [n for n, held in held_every_way(one_face, inside).items() if not held] == ["+y"]


@pytest.mark.parametrize("turned", [False, True])
def test_board_flat_lies_on_four_rests(turned: bool) -> None:
    """In a cavity too low for it on edge; held every way by its own guides, with no wall near."""
    pack = pack_of()
    (pose,) = board_poses(pack, LOW.inside_mm)
    wide, high = pose.plan_mm if not turned else pose.plan_mm[::-1]
    place = room(RoomKind.BOARD, 100.0, 100.0 + wide, 20.0, 20.0 + high)
    seat = board_seat(pack, LOW, place, INSIDE, CELLS)
    assert_seated(seat, INSIDE)
    assert len(seat.rests) == 4
    assert seat.board.size_mm == ((25.0, 60.0) if turned else (60.0, 25.0))
    assert seat.board.centre_mm == pytest.approx(place.rect.centre_mm)
    assert seat.z1_mm - seat.z0_mm == 8.0
    for guide in seat.guides:
        assert place.plan.buffer(1e-9).contains(box(guide))


FUSE = room(RoomKind.FUSE, 130.0, 192.0, 60.0, 91.4)
LANE_MM = (25.0, 45.0)


@pytest.mark.parametrize("side", Side)
def test_fuse_stands_behind_its_gland(side: Side) -> None:
    """In its room, in line with the glands, a nut's way off their wall, between two low walls."""
    wide = axis_along(side) == 1
    rect = FUSE.rect if wide else Rect(x0=130.0, x1=161.4, y0=20.0, y1=82.0)
    place = Room(kind=RoomKind.FUSE, name="fuse", rect=rect)
    seat, _ = fuse_seat(LEVELS, place, side)
    plan = seat.plan
    assert place.plan.contains(box(plan))
    assert edge_mm((rect.x0, rect.y0, rect.x1, rect.y1), side) - edge_mm(
        (plan.x0, plan.y0, plan.x1, plan.y1), side
    ) == pytest.approx(NUT_MM)
    assert sorted(plan.size_mm) == pytest.approx(sorted(FUSE_MM[:2]))
    axis = axis_along(side)
    holes = wall_holes(pack_of(), LEVELS, place, side, 2.0)
    assert sum(span_mm(plan, axis)) / 2 == pytest.approx(holes[0].along_mm)
    low, high = (span_mm(wall, axis) for wall in seat.walls)
    assert low[1] == pytest.approx(span_mm(plan, axis)[0])
    assert high[0] == pytest.approx(span_mm(plan, axis)[1])
    for wall in seat.walls:
        assert place.plan.contains(box(wall))


def test_glands_stand_one_over_the_other_clear_of_floor_and_lip() -> None:
    """Nuts side by side touch neither each other, nor the floor, nor the lid's lip."""
    first, second = wall_holes(pack_of(), LEVELS, FUSE, Side.PLUS_X, 2.0)
    keep = first.gland.keep_radius_mm
    assert (first.purpose, second.purpose) == ("pack plus", "pack minus")
    assert first.z_mm - keep > LEVELS.floor_mm
    assert second.z_mm - first.z_mm >= 2 * keep - 1e-9
    assert second.z_mm + keep <= LEVELS.rim_mm - LIP_DEEP_MM
    assert first.at_mm[:2] == (194.0, pytest.approx(75.7))
    assert first.wire_mm == pack_of().leads.outside_mm <= first.gland.wire_mm


def test_glands_too_high_for_the_wall_are_told() -> None:
    """The error names the wire and by how much they are too high; a rim as much higher will do."""
    pack = pack_of()
    thick = replace(pack, leads=replace(pack.leads, outside_mm=14.0))
    with pytest.raises(PlanError, match=r"two M25 glands .* 10\.5 mm higher") as error:
        wall_holes(thick, LEVELS, FUSE, Side.PLUS_X, 2.0)
    assert error.value.field == "leads.outside_mm"
    higher = replace(LEVELS, rim_mm=LEVELS.rim_mm + 10.51)
    assert len(wall_holes(thick, higher, FUSE, Side.PLUS_X, 2.0)) == 2


def test_notch_passes_the_partition_between_channel_and_board() -> None:
    """From the channel's end of the partition, on the board's side of it, down from the rim."""
    cells = shapely.box(0.0, 0.0, 120.0, 100.0)
    board = room(RoomKind.BOARD, 125.0, 190.0, 70.0, 91.0)
    channel = room(RoomKind.TAILS, 115.0, 120.0, 10.0, 60.0, "tails +x")
    shell = plain_shell(INSIDE, cells=cells, rooms=(channel, board))
    (notch,) = notches_of(shell)
    cut = box(notch.rect)
    wall = grown(cells, 1.26).difference(cells)
    assert cut.intersects(wall) and cut.intersects(channel.plan.buffer(3.0))
    assert notch.rect.y1 <= 60.0 + 3.0 + 8.0
    left = wall.intersection(box(rect_at(Side.PLUS_X, 110.0, 130.0, 5.0, 95.0))).difference(cut)
    assert len(shapely.get_parts(left)) == 2  # right through it
    assert notch.z0_mm == LEVELS.rim_mm - NOTCH_DEEP_MM
    # of two channels, the one that ends nearer to the board
    far = room(RoomKind.TAILS, 0.0, 5.0, 10.0, 60.0, "tails -x")
    for rooms in ((far, channel, board), (channel, far, board)):
        assert notches_of(plain_shell(INSIDE, cells=cells, rooms=rooms)) == (notch,)
    # without a channel where the partition is nearest to the board
    (other,) = notches_of(plain_shell(INSIDE, cells=cells, rooms=(board,)))
    assert box(other.rect).intersects(wall)
    assert other.rect.centre_mm[1] == pytest.approx(80.5, abs=1.0)


def test_drains_stand_in_rooms_and_under_no_pad() -> None:
    """One in the middle of each but the leads' way; none where a support pad stands."""
    rooms = (FUSE, room(RoomKind.WAY, 122.0, 130.0, 0.0, 90.0), ON_EDGE[Side.MINUS_Y])
    shell = plain_shell(INSIDE, cells=CELLS, rooms=rooms)
    x, y = FUSE.rect.centre_mm
    drains = drains_of(shell, ())
    assert [(d.x_mm, d.y_mm) for d in drains] == [(x, y), ON_EDGE[Side.MINUS_Y].rect.centre_mm]
    pads = [SupportPad(x_mm=x + off, y_mm=y, radius_mm=5.0, hole_radius_mm=0.0) for off in (7, 9)]
    assert len(drains_of(shell, pads[:1])) == 1
    assert len(drains_of(shell, pads[1:])) == 2


def stopped(gap_mm: float, metal: shapely.Polygon, openings: list[Rect]) -> dict[str, list[float]]:
    """Play of held cells in walls round them, without stops and with them, by direction."""
    cells = grown(CELLS, gap_mm)
    shell = plain_shell(grown(cells, 5.0), cells=cells)
    stops = stops_of(shell, CELLS, metal, openings)
    for one, other in itertools.combinations(stops, 2):
        assert not box(one).intersects(box(other))
    for rib in stops:
        assert min(rib.size_mm) == pytest.approx(STOP_MM)
        assert box(rib).distance(CELLS) > 0.0
        assert box(rib).intersects(loop_polygon(shell.partition).difference(cells))
        assert metal.is_empty or box(rib).distance(metal) >= STOP_OFF_MM - 0.01
    wall = CELLS.buffer(40.0).difference(cells)
    held = shapely.union_all([wall, *(box(rib) for rib in stops)])
    return {
        name: [play_mm(CELLS, wall, way), play_mm(CELLS, held, way)]
        for name, way in DIRECTIONS.items()
    }


def test_stops_take_up_the_play() -> None:
    """Round cells 3 mm off the wall two a side, which leave less than what must hold; none where
    the wall is near enough itself."""
    for without, with_stops in stopped(3.0, shapely.Polygon(), []).values():
        assert without == pytest.approx(3.0, abs=0.05) and without > HOLD_MM
        assert 0.3 <= with_stops <= 0.5
    for without, with_stops in stopped(1.2, shapely.Polygon(), []).values():
        assert without == with_stops <= HOLD_MM


def test_stops_stand_far_apart_and_off_the_metal() -> None:
    """At both ends of a side, so that the cells don't turn; beside metal, none where it is all
    metal."""
    cells = grown(CELLS, 3.0)
    shell = plain_shell(grown(cells, 5.0), cells=cells)

    def ribs(metal: shapely.Polygon) -> list[Rect]:
        found = stops_of(shell, CELLS, metal, [])
        return [rib for rib in found if rib.x0 > CELLS.bounds[2] - 1.0]

    one, other = sorted(ribs(shapely.Polygon()), key=lambda rib: rib.y0)
    assert other.y0 - one.y1 > 66.0 - 4 * STOP_MM
    tail = shapely.box(100.0, 0.0, 125.0, 20.0)
    one, other = sorted(ribs(tail), key=lambda rib: rib.y0)
    assert 20.0 + STOP_OFF_MM <= one.y0 < 24.0
    assert ribs(shapely.box(100.0, 0.0, 125.0, 90.0)) == []
    stopped(3.0, tail, [])
