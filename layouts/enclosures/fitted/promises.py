"""Sets of rooms that promise an enclosure: with place for glands, brackets and gas, by estimate."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.case import FittedCase
from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.faces import PadPlace, pad_places, pad_sets
from layouts.enclosures.fitted.placing import PlasticRates, RoomSet, place_rooms
from layouts.enclosures.fitted.poses import ShiftRaster
from layouts.enclosures.fitted.rooms import room_needs
from layouts.enclosures.fitted.shell import BALL_MM, LID_LIP_MM, LIP_DEEP_MM
from layouts.enclosures.fitted.sides import axis_along, edge_mm, side_of, span_mm
from layouts.enclosures.fitted.stands import Pose
from layouts.enclosures.fitted.wishes import (
    asked_shift_mm,
    faced_side,
    near_shift,
    out_of_mm,
    place_refused,
    wishes_of,
)
from layouts.pack import Side
from layouts.parts.shell import Rect, box

__all__ = [
    "Promise",
    "lanes_of",
    "lanes_shape",
    "open_sides",
    "outlets_of",
    "promises_of",
    "standing",
]

PROMISES_MOST = 8  # of a turn, with leads as asked for or not, with a charge port or without
OPEN_FLANK_MM = 40.0  # of held cells without dry rooms before them: gas leaves there
ESTIMATE_MM = 2.0  # an outline by estimate may be off by so much
BEFORE_MM = 1.0  # a room stands before a side that it reaches past by more than this


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Promise:
    """A set of rooms in a pose; ``shifts`` with which its brackets find room too by estimate.

    ``turn_deg``: of those of the pose that with which the leads leave as asked for, where there is
    one: ``as_asked``. ``least_mm3``: plastic of the set that takes the least in this pose,
    promising or not."""

    pose: Pose
    turn_deg: int
    as_asked: bool
    rooms: RoomSet
    shifts: NDArray[np.bool_]
    least_mm3: float

    @property
    def cost(self) -> tuple[bool, bool, float]:
        """Least is best: first with the leads as asked for, then with a charge port, then by
        plastic."""
        return (not self.as_asked, *self.rooms.cost)


def promises_of(case: FittedCase, pose: Pose) -> Iterator[Promise]:
    """Sets of rooms that stand in the space with two brackets, by estimate, the best first. Raises
    OutlineError where there are none."""
    pack, levels = case.pack, case.levels
    wall, lid = pack.enclosure.wall_mm, levels.lid_mm - levels.rim_mm
    rates = PlasticRates(
        plan_mm=levels.floor_mm - levels.under_mm + lid,
        wall_mm2=wall * levels.inside_mm + LID_LIP_MM * LIP_DEEP_MM,
    )
    sets = place_rooms(
        case.held.buffer(pack.enclosure.side_gap_mm),
        case.fixed,
        room_needs(pack, levels.inside_mm),
        pose.raster,
        rates,
        out_mm=case.out_mm,
        lane_mm=case.lane_mm,
        port_lane_mm=case.port_lane_mm,
        wishes=wishes_of(pack, pose.turn_deg),
    )
    found: list[tuple[bool, bool]] = []
    past_mm: list[float] = []
    least_mm3 = min(one.plastic_mm3 for one in sets)
    turned = [(*_turn_as_asked(case, pose, one), one) for one in sets]
    # those first whose leads leave as asked for
    for turn, as_asked, one in sorted(turned, key=lambda row: not row[1]):
        kind = as_asked, one.cost[0]
        if found.count(kind) == PROMISES_MOST:
            continue
        inside = one.shape.buffer(BALL_MM).buffer(-BALL_MM)
        wall_shape = inside.buffer(wall, quad_segs=4)
        if not isinstance(wall_shape, shapely.Polygon):
            continue
        whole = inside.buffer(case.out_mm, quad_segs=4)
        places = pad_places(wall_shape, whole, case.reach, lanes_shape(lanes_of(one)))
        sides = open_sides(case, one)
        shift = asked_shift_mm(pack, wall_shape, levels)
        left = one.shifts if shift is None else one.shifts & near_shift(pose.raster, shift)
        past = 0.0 if shift is None else out_of_mm(pose.free, whole, shift)
        if past > ESTIMATE_MM:
            past_mm.append(past)
            continue
        for pads, shifts in standing(case, pose.raster, left, places):
            if sides - {pad.side for pad in pads}:
                found.append(kind)
                yield Promise(
                    pose=pose, turn_deg=turn, as_asked=as_asked, rooms=one, shifts=shifts,
                    least_mm3=least_mm3,
                )  # fmt: skip
                break
    if not found and past_mm:
        raise place_refused(min(past_mm))
    if not found:
        raise OutlineError(
            "with two brackets and a side for gas it leaves the space",
            remedy="more room before two opposite sides",
        )


def _turn_as_asked(case: FittedCase, pose: Pose, rooms: RoomSet) -> tuple[int, bool]:
    """The turn of a pose with which the main leads leave to the side that is asked for, else any;
    and whether they do."""
    at = outlets_of(rooms)[0]
    for turn in pose.turns_deg:
        if case.pack.space is None or faced_side(case.pack, at, turn) is case.pack.leads.side:
            return turn, True
    return pose.turn_deg, False


def open_sides(case: FittedCase, rooms: RoomSet) -> set[Side]:
    """Where gas may leave: off the glands, with a stretch of the cells' flank without dry rooms
    before it."""
    found = set()
    for side in set(Side) - set(outlets_of(rooms)):
        axis, edge = axis_along(side), edge_mm(case.held.bounds, side)
        low, high = case.held.bounds[axis], case.held.bounds[axis + 2]
        covered = [
            shapely.LineString([(start, 0.0), (end, 0.0)])
            for room in (*case.fixed, *rooms.rooms)
            if room.is_dry and edge_mm(room.plan.bounds, side) > edge + BEFORE_MM
            for start, end in [span_mm(room.rect, axis)]
        ]
        flank = shapely.LineString([(low, 0.0), (high, 0.0)])
        if flank.difference(shapely.union_all(covered)).length >= OPEN_FLANK_MM:
            found.add(side)
    return found


def outlets_of(rooms: RoomSet) -> tuple[Side, Side | None]:
    """The sides of the main leads' glands and of the charge port's. All rooms have their places."""
    assert rooms.lane is not None
    port = rooms.port_lane
    glands_at = side_of(rooms.lane, rooms.fuse.rect)
    return glands_at, None if port is None else side_of(port, rooms.charge.rect)


def lanes_of(rooms: RoomSet) -> tuple[Rect, ...]:
    """What the glands of a set of rooms keep free."""
    return tuple(lane for lane in (rooms.lane, rooms.port_lane) if lane is not None)


def lanes_shape(lanes: tuple[Rect, ...]) -> BaseGeometry:
    """The same as one shape."""
    return shapely.union_all([box(lane) for lane in lanes])


def standing(
    case: FittedCase, raster: ShiftRaster, shifts: NDArray[np.bool_], places: Sequence[PadPlace]
) -> Iterator[tuple[tuple[PadPlace, ...], NDArray[np.bool_]]]:
    """Sets of pads before which brackets find room in the space, those that carry best first, with
    the shifts left."""
    reach, middle = case.reach, case.held.centroid
    if case.pack.mount.frame or case.pack.mount.hold.none:
        yield (), shifts  # brackets follow the frame, or there are none
        return
    keeps = {place: shifts & raster.keeps(place.lane(reach)) for place in places}
    able = [place for place in places if keeps[place].any()]
    for pads in pad_sets(able, (middle.x, middle.y)):
        left = np.logical_and.reduce([keeps[place] for place in pads])
        if left.any():
            yield pads, left
