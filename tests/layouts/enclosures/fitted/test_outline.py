"""Outline of cells and rooms: areas by hand, contents that meet in every way, what is refused."""

from __future__ import annotations

import math
import pickle
from collections.abc import Iterable

import numpy as np
import pytest
from numpy.typing import NDArray

from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.figures import RoundedRect
from layouts.enclosures.fitted.loops import loop_length_mm, shortest_mm
from layouts.enclosures.fitted.outline import closed_outline
from layouts.holders.outline import rolling_outline
from layouts.slabs.profile import Arc, Line, loop_area_mm2
from tests.layouts.enclosures.fitted.contents import (
    BALL_MM,
    assert_tangent,
    field_with_rooms,
    honeycomb,
    room,
)
from tests.oracles.outline_area import outline_area_mm2

CORNER_MM2 = 1 - math.pi / 4  # what a fillet of radius 1 takes off a square corner
NONE: tuple[RoundedRect, ...] = ()


def in_order(rows: Iterable[tuple[float, ...]]) -> NDArray[np.float64]:
    """Rows sorted by their numbers, those that differ by rounding alone taken as equal."""
    return np.array(sorted(rows, key=lambda row: tuple(round(value, 6) + 0.0 for value in row)))


def test_one_disc_is_a_whole_circle() -> None:
    """One arc, no seat; the disc may be given twice, or stand within a larger one."""
    for discs in ([(3.0, -2.0, 12.0)], [(3.0, -2.0, 12.0)] * 2, [(5, -2, 9), (3, -2, 12)]):
        outline = closed_outline(discs, NONE, BALL_MM)
        assert [type(one) for one in outline.loop] == [Arc]
        assert outline.seats == ()
        assert loop_area_mm2(outline.loop) == pytest.approx(math.pi * 144)


def test_two_discs_by_hand() -> None:
    """Rhombus of both centres and both seats, more the discs' sectors, less the ball's."""
    r, b, a = 10.0, 4.0, 12.0  # radius, ball, half the distance
    up = math.sqrt((r + b) ** 2 - a**2)
    at_disc = 2 * math.acos(a / (r + b))
    area = 2 * a * up + r * r * (math.tau - at_disc) - b * b * (math.pi - at_disc)
    outline = closed_outline([(0, 0, r), (2 * a, 0, r)], NONE, b)
    assert loop_area_mm2(outline.loop) == pytest.approx(area, rel=1e-12)
    assert in_order(seat.centre_mm for seat in outline.seats) == pytest.approx(
        np.array([(a, -up), (a, up)]), abs=1e-12
    )
    # similar triangles: the feet lie r of r + b from the discs' centres
    assert outline.seats[0].mouth_mm == pytest.approx(2 * a * b / (r + b))
    arcs = [one for one in outline.loop if isinstance(one, Arc)]
    length = 2 * r * (math.tau - at_disc) + 2 * b * (math.pi - at_disc)
    assert loop_length_mm(outline.loop) == pytest.approx(length)
    assert shortest_mm(outline.loop) == pytest.approx(b * (math.pi - at_disc))
    assert [arc.radius_mm for arc in arcs].count(b) == 2


def test_one_room_is_its_own_outline() -> None:
    """Four lines, four corners; with corners of half a side, no line is left there."""
    outline = closed_outline([], (room(0, 0, 40, 25),), BALL_MM)
    assert [type(one) for one in outline.loop].count(Line) == 4
    assert loop_area_mm2(outline.loop) == pytest.approx(1000 - 4 * CORNER_MM2 * 9)
    slot = closed_outline([], (room(0, 0, 40, 20, 10),), BALL_MM)
    assert [type(one) for one in slot.loop].count(Line) == 2
    assert loop_area_mm2(slot.loop) == pytest.approx(400 + math.pi * 100)
    disc = closed_outline([], (room(0, 0, 20, 20, 10),), BALL_MM)
    assert loop_area_mm2(disc.loop) == pytest.approx(math.pi * 100)


def test_room_beside_a_disc_by_hand() -> None:
    """Two hollows between a straight side and a disc that stands half in it."""
    # side at x = 40, disc 8 round (48, 20), ball 4: the ball's centre at x = 44, 12 from (48, 20)
    s = math.sqrt(12**2 - 4**2)
    at_seat = math.acos(-1 / 3)  # from the side's foot to the disc's, seen from the seat
    area = 1600 - 4 * CORNER_MM2 * 9
    area += 12 * s  # from foot to foot over both seats and the disc's centre
    area += 64 / 2 * (math.tau - 2 * math.acos(1 / 3)) - 16 * at_seat
    outline = closed_outline([(48, 20, 8)], (room(0, 0, 40, 40),), 4.0)
    assert loop_area_mm2(outline.loop) == pytest.approx(area, rel=1e-12)
    assert in_order(seat.centre_mm for seat in outline.seats) == pytest.approx(
        np.array([(44, 20 - s), (44, 20 + s)]), abs=1e-12
    )
    assert outline.seats[0].figures in ((0, 1), (1, 0))
    assert_tangent(outline.loop)


def test_l_of_two_rooms_by_hand() -> None:
    """Five corners rounded, the inner one filled; sides that both share appear once."""
    outline = closed_outline([], (room(0, 0, 60, 20), room(0, 0, 20, 50)), 4.0)
    area = 1200 + 1000 - 400 - 5 * CORNER_MM2 * 9 + CORNER_MM2 * 16
    assert loop_area_mm2(outline.loop) == pytest.approx(area, rel=1e-12)
    assert [seat.centre_mm for seat in outline.seats] == [pytest.approx((24.0, 24.0))]
    assert len(outline.loop) == 12
    assert outline.figures.count(()) == 1
    assert_tangent(outline.loop)


@pytest.mark.parametrize("overlap", [6.0, 7.5, 26.0])
def test_flush_rooms_are_one(overlap: float) -> None:
    """Sides on one line and equal corner arcs: no seat, as if it were one room."""
    rooms = (room(0, 0, 40, 20), room(40 - overlap, 0, 80, 20))
    outline = closed_outline([], rooms, BALL_MM)
    assert outline.seats == ()
    assert len(outline.loop) == 8
    assert set(outline.figures) == {(0,), (1,), (0, 1), (1, 0)}
    assert loop_area_mm2(outline.loop) == pytest.approx(1600 - 4 * CORNER_MM2 * 9, rel=1e-12)


def test_flush_rooms_that_touch_have_a_shallow_hollow_on_either_side() -> None:
    """Between two corner arcs that meet; its size by hand."""
    outline = closed_outline([], (room(0, 0, 20, 10), room(20, 0, 40, 10)), 4.0)
    high = math.sqrt(7**2 - 3**2)
    tilt = math.acos(3 / 7)
    # above the corners' centres, 6 apart: the triangle up to the seat, both corners' sectors
    # beside it, less the ball's
    filled = 3 * high + 9 * (math.pi / 2 - tilt) - 16 * (math.pi / 2 - tilt)
    area = 400 - 4 * CORNER_MM2 * 9 - 2 * (18 - filled)
    assert loop_area_mm2(outline.loop) == pytest.approx(area, rel=1e-12)
    assert len(outline.seats) == 2
    assert_tangent(outline.loop)


def test_rooms_flush_within_rounding_are_flush() -> None:
    """A side off by float noise makes no hollow and no crossing."""
    for noise in (1e-15, 3e-9, -3e-9, 5e-8):
        rooms = (room(0, 0, 40, 20), room(30, 0, 80, 20 + noise))
        outline = closed_outline([], rooms, BALL_MM)
        assert outline.seats == ()
        assert_tangent(outline.loop)
        assert loop_area_mm2(outline.loop) == pytest.approx(1600 - 4 * CORNER_MM2 * 9, abs=1e-5)


def test_line_tangent_to_a_disc_goes_on_as_its_arc() -> None:
    """A disc flush with a room's upper side: one hollow below, none above."""
    # the disc's top at (37, 20) is where the side ends; its circle holds the room's corner
    outline = closed_outline([(37, 12, 8)], (room(0, 0, 40, 20),), BALL_MM)
    assert len(outline.seats) == 1
    assert outline.seats[0].centre_mm[1] < 12
    assert_tangent(outline.loop)
    over = outline.loop[outline.figures.index((0,))]
    assert isinstance(over, Arc)
    assert over.start_rad + over.sweep_rad == pytest.approx(math.pi / 2)


def test_contents_wholly_covered_change_nothing() -> None:
    """Rooms in rooms, rooms in discs, discs in rooms."""
    big = room(0, 0, 90, 60)
    alone = closed_outline([], (big,), BALL_MM)
    covered = closed_outline([(30, 30, 11), (12, 12, 12)], (room(5, 5, 30, 60), big, big), BALL_MM)
    assert loop_area_mm2(covered.loop) == pytest.approx(loop_area_mm2(alone.loop), rel=1e-12)
    assert covered.seats == ()
    disc = closed_outline([(0, 0, 30)], (room(-10, -10, 10, 10),), BALL_MM)
    assert loop_area_mm2(disc.loop) == pytest.approx(math.pi * 900)
    assert disc.figures == ((0,),)


def test_arc_of_a_few_hundredths_is_kept() -> None:
    """A disc just above a corner leaves 0.06 mm of it; the hollow begins there."""
    left = 0.06 / 3
    seat = 37 + 7 * math.cos(left), 17 + 7 * math.sin(left)
    towards = math.radians(100)
    disc = (seat[0] + 12 * math.cos(towards), seat[1] + 12 * math.sin(towards), 8.0)
    outline = closed_outline([disc], (room(0, 0, 40, 20),), 4.0)
    assert shortest_mm(outline.loop) == pytest.approx(0.06)
    assert any(one.centre_mm == pytest.approx(seat) for one in outline.seats)
    assert_tangent(outline.loop)


def test_hollow_without_a_way_in_is_filled() -> None:
    """Four rooms round a court: the outline is the outer one alone."""
    rooms = (room(0, 0, 90, 20), room(0, 70, 90, 90), room(0, 0, 20, 90), room(70, 0, 90, 90))
    outline = closed_outline([], rooms, BALL_MM)
    assert loop_area_mm2(outline.loop) == pytest.approx(8100 - 4 * CORNER_MM2 * 9)


def test_slot_as_wide_as_the_ball_is_filled() -> None:
    """Between parallel sides the ball just fits, yet is kept out: the mouth is a half circle."""
    rooms = (room(0, 0, 48, 20), room(0, 0, 20, 60), room(28, 0, 48, 60))
    outline = closed_outline([], rooms, 4.0)
    area = 48 * 60 - 4 * CORNER_MM2 * 9 - 2 * CORNER_MM2 * 9 - 3 * 8 - math.pi * 8
    assert loop_area_mm2(outline.loop) == pytest.approx(area)
    assert [seat.centre_mm for seat in outline.seats] == [pytest.approx((24.0, 57.0))]
    assert_tangent(outline.loop)


@pytest.mark.parametrize(
    "discs",
    [
        honeycomb(5, 8),
        honeycomb(1, 6),
        honeycomb(6, 1),
        np.array([(0.0, 0.0, 12.0), (20.0, 0.0, 3.0), (40.0, 0.0, 12.0)]),
        np.vstack([honeycomb(3, 3), [(11.5, -10.2, 5.2), (-3.9, 19.9, 5.2)]]),
    ],
)
def test_discs_alone_are_the_cell_blocks_outline(discs: NDArray[np.float64]) -> None:
    """The same arcs and seats as the outline of the cell block, to rounding."""
    ours = closed_outline(discs, NONE, BALL_MM)
    other = rolling_outline(discs, BALL_MM)
    assert loop_area_mm2(ours.loop) == pytest.approx(outline_area_mm2(other), rel=1e-12)
    seats = in_order((one.x_mm, one.y_mm) for one in other.seats)
    assert in_order(one.centre_mm for one in ours.seats) == pytest.approx(seats, abs=1e-9)
    arcs = in_order((*a.centre_mm, a.radius_mm, a.sweep_rad) for a in other.arcs)
    found = [a for a in ours.loop if isinstance(a, Arc)]
    assert len(found) == len(ours.loop)
    assert in_order((*a.centre, a.radius_mm, a.sweep_rad) for a in found) == pytest.approx(
        arcs, abs=1e-9
    )


def test_cells_with_five_rooms_go_once_round() -> None:
    """The loop is tangent, and each segment lies on the figure that it names."""
    discs, rooms = field_with_rooms()
    outline = closed_outline(discs, rooms, BALL_MM, least_radius_mm=3.0)
    assert_tangent(outline.loop)
    assert len(outline.seats) == outline.figures.count(()) == 19
    for segment, on in zip(outline.loop, outline.figures, strict=True):
        if not on or isinstance(segment, Line):
            continue
        (figure,) = on
        own = discs[figure, 2] if figure < len(discs) else rooms[figure - 40].corner_radius_mm
        assert segment.radius_mm == own
    assert {k for on in outline.figures for k in on if k >= 40} == {40, 41, 42, 43, 44}


def test_parts_that_the_ball_passes_between_are_refused() -> None:
    """With the gap; a hair nearer they hold together."""
    rooms = (room(0, 0, 20, 20), room(28.9, 0, 60, 20))
    with pytest.raises(OutlineError, match=r"2 parts: .* a gap of 8.9 mm lets a ball"):
        closed_outline([], rooms, BALL_MM)
    assert closed_outline([], rooms, 4.46).seats
    with pytest.raises(OutlineError, match="fall into 3 parts"):
        closed_outline([(100, 100, 5)], rooms, BALL_MM)


def test_neck_thinner_than_the_hollows_leave_is_refused() -> None:
    """Two small discs far apart: the ball's places on both sides overlap."""
    with pytest.raises(OutlineError, match=r"meets itself at a neck at \((2\.6|8\.4), -?0\.0\)"):
        closed_outline([(0, 0, 2), (11, 0, 2)], NONE, BALL_MM)
    assert closed_outline([(0, 0, 2), (9, 0, 2)], NONE, BALL_MM).seats


def test_small_radius_is_refused() -> None:
    """A corner below the least radius that is asked for; a covered one doesn't count."""
    rooms = (room(0, 0, 40, 20), room(10, 5, 30, 30, 2.0))
    with pytest.raises(OutlineError, match=r"corner at \(.*, 29\.4\) .* of 2.00 mm, least 2.6"):
        closed_outline([], rooms, BALL_MM, least_radius_mm=2.6)
    closed_outline([], rooms, BALL_MM, least_radius_mm=2.0)
    closed_outline([], (room(0, 0, 40, 20), room(10, 5, 30, 15, 2.0)), 4.4, least_radius_mm=2.6)
    with pytest.raises(OutlineError, match="hollow at"):
        closed_outline([], rooms, 1.5, least_radius_mm=1.8)


def test_sides_neither_flush_nor_apart_are_refused() -> None:
    """Off by more than rounding, by less than a side that slabs can tell from none."""
    with pytest.raises(OutlineError, match=r"two sides at .* lie only 1e-06 mm apart; make them"):
        closed_outline([(0, 0, 5), (0, 3e-6, 5)], NONE, BALL_MM)
    # each flush with the next, the last not with the first: every side covers another
    steps = [room(5 * k % 15, 0, 40 + 5 * k % 15, 20 + 9e-8 * k) for k in range(3)]
    with pytest.raises(OutlineError, match=r"two sides near .* neither flush nor apart; make"):
        closed_outline([], tuple(steps), BALL_MM)


@pytest.mark.parametrize(
    ("discs", "rooms", "ball_mm", "said"),
    [
        ([], (), 4.0, "give at least one"),
        ([(0.0, 0.0)], (), 4.0, "needs \\(n, 3\\)"),
        ([(0.0, 0.0, 0.0)], (), 4.0, "radius must be above 0"),
        ([(0.0, math.nan, 1.0)], (), 4.0, "finite"),
        ([], (room(0, 0, 20, 20, 0.0),), 4.0, "above 0"),
        ([], (room(0, 0, 20, 20, 10.1),), 4.0, "above half a side"),
        ([(0.0, 0.0, 1.0)], (), 0.0, "ball_mm is 0"),
    ],
)
def test_wrong_calls_are_told(
    discs: list[tuple[float, ...]], rooms: tuple[RoundedRect, ...], ball_mm: float, said: str
) -> None:
    """Not as contents that no outline follows, but as what the caller did wrong."""
    with pytest.raises(ValueError, match=said) as caught:
        closed_outline(discs, rooms, ball_mm)
    assert not isinstance(caught.value, OutlineError)


def test_error_passes_between_processes() -> None:
    """With its text in both parts."""
    error = pickle.loads(pickle.dumps(OutlineError("a neck", remedy="a smaller ball")))
    assert (error.why, error.remedy, str(error)) == (
        "a neck",
        "a smaller ball",
        "a neck; a smaller ball",
    )
