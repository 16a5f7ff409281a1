"""Where the rooms stand round the held cells: sets of places, those with the least plastic first.

One room after another, the largest first. Each touches what stands already; a few of the best sets,
with that room on different sides, are followed further. Where the whole then stands in the space is
left open: a set keeps all shifts with which every room of it lies in the free area. What decides
here is an estimate: outlines are unions of plain figures; ``layouts.enclosures.fitted.shell`` draws
the chosen ones exactly.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.poses import ShiftRaster
from layouts.enclosures.fitted.rooms import PARTITION_MM, PLAY_MM, Room, RoomKind, RoomNeed
from layouts.enclosures.fitted.sides import axis_along, edge_mm, rect_at, side_of, span_mm
from layouts.enclosures.fitted.wishes import PlaceWish
from layouts.pack import Side
from layouts.parts.shell import Rect, box

__all__ = ["PlasticRates", "RoomSet", "gland_lanes", "place_rooms"]

BEAM = 8  # sets followed from one room to the next
SETS_MOST = 40  # sets of all rooms
KEPT = 4  # of the places of one room beside one set
MERGED = 40  # places of a room that are scored by their outline; the hull's area picks them
STEP_MM = 4.0  # of the places that are tried
TOUCH_MM = 4.0  # rooms stand at most so far off what is there: the ball closes the gap
WIRE_GAP_MM = 4.0  # a wire passes from room to room through what the ball closes
FUSE_REACH_MM = 130.0  # from pack plus to the fuse's room: some 180 of wire to the fuse itself
APART_MM3 = 4000.0  # plastic that stands for an outline in several parts
OVER_MM = 2.2  # a room's shape reaches so far over the partition, and the ball fills the rest
HOLLOW_MM = 4.7  # beside a lane: the ball that rounds hollows, and some play
NO_WISHES: Mapping[RoomKind, PlaceWish] = MappingProxyType({})
SIDE_MM = 40.0  # places of a room nearer than this count as the same side


@dataclass(frozen=True, kw_only=True, slots=True)
class PlasticRates:
    """What an outline costs: plastic for each mm2 of the plan and each mm of wall."""

    plan_mm: float  # floor and lid together
    wall_mm2: float  # wall and lip: thickness times height

    def mm3(self, shapes: NDArray[np.object_]) -> NDArray[np.float64]:
        """(n,) plastic round shapes; one in several parts costs a wall more."""
        apart = APART_MM3 * (shapely.get_num_geometries(shapes) > 1)
        plan, wall = shapely.area(shapes) * self.plan_mm, shapely.length(shapes) * self.wall_mm2
        return np.asarray(plan + wall + apart, dtype=np.float64)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RoomSet:
    """Rooms in their places, ``plastic_mm3`` by estimate, ``shape`` of the inside they make.

    ``shifts``: with which they and the glands' ``lane`` lie in the free area, as its raster tells.
    ``lane``: before one end wall of the fuse's room, kept free; None before it has a place.
    ``port_lane``: the same before a wall of the charge port's; None where none of its has one."""

    rooms: tuple[Room, ...]
    plastic_mm3: float
    shape: BaseGeometry
    shifts: NDArray[np.bool_]
    lane: Rect | None = None
    port_lane: Rect | None = None

    @property
    def cost(self) -> tuple[bool, float]:
        """Least is best: first with a charge port, then by plastic."""
        has_room = any(room.kind is RoomKind.CHARGE for room in self.rooms)
        return has_room and self.port_lane is None, self.plastic_mm3

    @property
    def fuse(self) -> Room:
        """The main fuse's. Raises StopIteration before it has a place."""
        return next(room for room in self.rooms if room.kind is RoomKind.FUSE)

    @property
    def charge(self) -> Room:
        """The charge port's. Raises StopIteration before it has a place."""
        return next(room for room in self.rooms if room.kind is RoomKind.CHARGE)


def place_rooms(
    cells: BaseGeometry,
    fixed: Sequence[Room],
    needs: Sequence[RoomNeed],
    raster: ShiftRaster,
    rates: PlasticRates,
    *,
    out_mm: float,
    lane_mm: tuple[float, float],
    port_lane_mm: tuple[float, float],
    wishes: Mapping[RoomKind, PlaceWish] = NO_WISHES,
) -> list[RoomSet]:
    """Sets of places for all that needs a room. Raises OutlineError where one goes in nowhere.

    ``cells``: inside of the walls round the held cells alone. ``fixed``: rooms that stand already.
    ``raster``: of the space's free area, for the outside of both. ``out_mm``: from a room to the
    enclosure's outside. ``lane_mm``: width and length that are kept free before one end wall of
    the fuse's room, for its glands. ``port_lane_mm``: the same before a wall of the charge port's,
    where there is one with as much. ``wishes``: where rooms must stand.
    """
    shape = shapely.union_all([cells, *(room.plan for room in fixed)])
    sets = [RoomSet(rooms=(), plastic_mm3=0.0, shape=shape, shifts=raster.whole)]
    site = _Site(
        cells=cells.buffer(PARTITION_MM, quad_segs=4), fixed=tuple(fixed), raster=raster,
        rates=rates, out_mm=out_mm, lane_mm=lane_mm, port_lane_mm=port_lane_mm, wishes=wishes,
    )  # fmt: skip
    for need in needs:
        found = [grown for one in sets for grown in _with_room(site, one, need)]
        sets = _different(found, SETS_MOST if need is needs[-1] else BEAM)
        if not sets and need.kind in wishes:
            raise wishes[need.kind].refused(need.kind.value)
        if not sets:
            raise OutlineError(
                f"the room for {need.kind.value} finds no place beside the cells",
                remedy="a larger space",
            )
    return sets


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Site:
    """What stays the same while rooms are placed; ``cells`` with the partition round them."""

    cells: BaseGeometry
    fixed: tuple[Room, ...]
    raster: ShiftRaster
    rates: PlasticRates
    out_mm: float
    lane_mm: tuple[float, float]
    port_lane_mm: tuple[float, float]
    wishes: Mapping[RoomKind, PlaceWish]

    def named(self, name: str) -> BaseGeometry:
        """Where that main lead lands."""
        return shapely.union_all([room.plan for room in self.fixed if room.name == name])

    def of_kind(self, kind: RoomKind) -> BaseGeometry:
        """All fixed rooms of a kind."""
        return shapely.union_all([room.plan for room in self.fixed if room.kind is kind])


def _with_room(site: _Site, one: RoomSet, need: RoomNeed) -> list[RoomSet]:
    """The set with one more room, at its best places."""
    wet = [_walled(room) for room in site.fixed if not room.is_dry]
    # the way may serve as the board's room for wires, nothing else stands in it
    ways = [] if need.kind is RoomKind.BOARD else [site.of_kind(RoomKind.WAY)]
    kept = [] if one.lane is None else [box(_before_wall(one.lane, one.fuse.rect))]
    stand = [site.cells, *wet, *ways, *(room.plan for room in one.rooms)]
    taken = shapely.union_all([*stand, *kept])
    near = one.shape.buffer(TOUCH_MM, quad_segs=2)
    shapely.prepare(taken)
    shapely.prepare(near)
    found = []
    for plan in dict.fromkeys(p for a, b in need.plans_mm for p in ((a, b), (b, a))):
        bounds = _places(one.shape, plan)
        rects = shapely.box(*bounds.T)
        inner = shapely.box(*(bounds + [PLAY_MM, PLAY_MM, -PLAY_MM, -PLAY_MM]).T)
        stands = shapely.intersects(near, rects) & ~shapely.intersects(taken, inner)
        rects = rects[stands]
        rects = rects[_wires_reach(site, one, need.kind, rects)]
        if need.kind in site.wishes:
            held = site.cells.bounds
            rects = rects[site.wishes[need.kind].allows(shapely.bounds(rects), held)]
        places = [*_standing(site, one, need.kind, rects, taken)]
        for has_lane in (True, False):  # a charge port's room also counts without one
            some = [place for place in places if (place.lane is not None) is has_lane]
            found += _best(site, one, need.kind, some)
    return found


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _RoomPlace:
    """A place of a room, the shifts left to the set with it, and its lane for glands where it
    needs one."""

    rect: Rect
    shifts: NDArray[np.bool_]
    lane: Rect | None = None


def _standing(
    site: _Site,
    one: RoomSet,
    kind: RoomKind,
    rects: NDArray[np.object_],
    taken: BaseGeometry,
) -> Iterator[_RoomPlace]:
    """Those places with which the set still stands in the space; the fuse's room once for each end
    wall that has its lane free, the charge port's once for each wall, and once without."""
    for x0, y0, x1, y1 in shapely.bounds(rects).tolist():
        rect = Rect(x0=x0, y0=y0, x1=x1, y1=y1)
        shifts = one.shifts & site.raster.keeps(rect, site.out_mm)
        if kind in site.wishes:
            shifts &= site.wishes[kind].shifts(rect, site.raster)
        if not shifts.any():
            continue
        if kind is not RoomKind.FUSE:
            yield _RoomPlace(rect=rect, shifts=shifts)
        for lane in _lanes_of(site, kind, rect):
            if taken.intersects(box(_before_wall(lane, rect))):
                continue
            with_lane = shifts & site.raster.keeps(lane)
            if with_lane.any():
                yield _RoomPlace(rect=rect, shifts=with_lane, lane=lane)


def _lanes_of(site: _Site, kind: RoomKind, rect: Rect) -> tuple[Rect, ...]:
    """Where a room's glands may have their lane."""
    if kind is RoomKind.FUSE:
        return gland_lanes(rect, site.lane_mm)
    if kind is not RoomKind.CHARGE:
        return ()
    half, long = site.port_lane_mm[0] / 2, site.port_lane_mm[1]
    bounds, lanes = rect.bounds, []
    for side in Side:
        edge, middle = edge_mm(bounds, side), rect.centre_mm[axis_along(side)]
        lanes.append(rect_at(side, edge, edge + long, middle - half, middle + half))
    return tuple(lanes)


def _before_wall(lane: Rect, rect: Rect) -> Rect:
    """What must stay free before a room's wall with glands: their lane, begun a little off the
    room, and beside it what the ball fills next to another room."""
    side = side_of(lane, rect)
    low, high = span_mm(lane, axis_along(side))
    near = edge_mm(rect.bounds, side) + 2 * PLAY_MM
    far = edge_mm(lane.bounds, side)
    return rect_at(side, near, far, low - HOLLOW_MM, high + HOLLOW_MM)


def _walled(room: Room) -> BaseGeometry:
    """A room's plan with the partition round it; none stands round a landing."""
    by_mm = 0.0 if room.kind is RoomKind.LANDING else PARTITION_MM
    return room.plan.buffer(by_mm, quad_segs=4)


def _places(shape: BaseGeometry, plan_mm: tuple[float, float]) -> NDArray[np.float64]:
    """(n, 4) bounds of a room's places round a shape: a grid, and flush with the partition."""
    w, h = plan_mm
    x0, y0, x1, y1 = shape.bounds
    off = PARTITION_MM + 2 * PLAY_MM
    xs = np.append(np.arange(x0 - w - 3.0, x1 + 3.0, STEP_MM), [x1 + off, x0 - w - off, x0, x1 - w])
    ys = np.append(np.arange(y0 - h - 3.0, y1 + 3.0, STEP_MM), [y1 + off, y0 - h - off, y0, y1 - h])
    x, y = (grid.ravel() for grid in np.meshgrid(xs, ys))
    return np.column_stack([x, y, x + w, y + h])


def _wires_reach(
    site: _Site, one: RoomSet, kind: RoomKind, rects: NDArray[np.object_]
) -> NDArray[np.bool_]:
    """(n,) the room's wires get there through dry rooms: the board's from pack minus, all others
    from pack plus; the fuse near it."""
    ways = site.of_kind(RoomKind.WAY)
    if kind is RoomKind.BOARD:
        start = shapely.union(site.named("pack minus"), ways)
    else:
        start = shapely.union_all([site.named("pack plus"), ways, *(r.plan for r in one.rooms)])
    reached: NDArray[np.bool_] = shapely.distance(rects, start) < WIRE_GAP_MM
    if kind is RoomKind.FUSE:
        reached &= shapely.distance(rects, site.named("pack plus")) < FUSE_REACH_MM
    return reached


def gland_lanes(rect: Rect, lane_mm: tuple[float, float]) -> tuple[Rect, Rect]:
    """Before both end walls of a room: where its glands' caps and wires need a way out."""
    half, long = lane_mm[0] / 2, lane_mm[1]
    x, y = rect.centre_mm
    wide, high = rect.size_mm
    if wide >= high:
        return (
            Rect(x0=rect.x1, x1=rect.x1 + long, y0=y - half, y1=y + half),
            Rect(x0=rect.x0 - long, x1=rect.x0, y0=y - half, y1=y + half),
        )
    return (
        Rect(x0=x - half, x1=x + half, y0=rect.y1, y1=rect.y1 + long),
        Rect(x0=x - half, x1=x + half, y0=rect.y0 - long, y1=rect.y0),
    )


def _best(site: _Site, one: RoomSet, kind: RoomKind, places: Sequence[_RoomPlace]) -> list[RoomSet]:
    """The sets with the room at the places that take the least plastic."""
    if not places:
        return []
    bounds = np.array([p.rect.bounds for p in places])
    order = np.arange(len(places))
    if len(places) > MERGED:
        rects = shapely.box(*bounds.T)
        hulls = shapely.area(shapely.convex_hull(shapely.union(rects, one.shape.convex_hull)))
        order = np.argsort(hulls, kind="stable")[:MERGED]
    over = np.array([-OVER_MM, -OVER_MM, OVER_MM, OVER_MM])
    shapes = shapely.union(shapely.box(*(bounds[order] + over).T), one.shape)
    plastic = site.rates.mm3(shapes)
    sets = []
    for k in np.argsort(plastic, kind="stable")[:KEPT].tolist():
        place = places[order[k]]
        room = Room(kind=kind, name=kind.value, rect=place.rect)
        is_port = kind is RoomKind.CHARGE
        grown = RoomSet(
            rooms=(*one.rooms, room), plastic_mm3=float(plastic[k]), shape=shapes[k],
            shifts=place.shifts, lane=place.lane if kind is RoomKind.FUSE else one.lane,
            port_lane=place.lane if is_port else one.port_lane,
        )  # fmt: skip
        sets.append(grown)
    return sets


def _different(sets: Sequence[RoomSet], most: int) -> list[RoomSet]:
    """The best, and each with its last room on another side, turned the other way or with its
    glands at another wall."""
    kept: list[RoomSet] = []
    seen = set()
    for one in sorted(sets, key=lambda s: s.cost):
        rect = one.rooms[-1].rect
        x, y = rect.centre_mm
        wide, high = rect.size_mm
        lane = one.lane.centre_mm if one.lane is not None and one.port_lane is None else None
        key = (round(x / SIDE_MM), round(y / SIDE_MM), wide > high, lane)
        if key not in seen:
            seen.add(key)
            kept.append(one)
        if len(kept) == most:
            break
    return kept
