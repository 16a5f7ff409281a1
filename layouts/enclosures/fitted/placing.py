"""Where the rooms stand round the held cells: sets of places, those with the least plastic first.

One room after another, the largest first. Each touches what stands already; a few of the best sets,
with that room on different sides, are followed further. What decides here is an estimate: outlines
are unions of plain figures; ``layouts.enclosures.fitted.shell`` draws the chosen ones exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.rooms import PARTITION_MM, PLAY_MM, Room, RoomKind, RoomNeed
from layouts.parts.shell import Rect

__all__ = ["PlasticRates", "RoomSet", "gland_lanes", "place_rooms"]

BEAM = 5  # sets followed from one room to the next
KEPT = 4  # of the places of one room beside one set
MERGED = 40  # places of a room that are scored by their outline; the hull's area picks them
STEP_MM = 4.0  # of the places that are tried
TOUCH_MM = 4.0  # rooms stand at most so far off what is there: the ball closes the gap
WIRE_GAP_MM = 4.0  # a wire passes from room to room through what the ball closes
FUSE_REACH_MM = 130.0  # from pack plus to the fuse's room: some 180 of wire to the fuse itself
APART_MM3 = 4000.0  # plastic that stands for an outline in several parts
OVER_MM = 2.2  # a room's shape reaches so far over the partition, and the ball fills the rest
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
    """Rooms in their places, ``plastic_mm3`` by estimate, ``shape`` of the inside they make."""

    rooms: tuple[Room, ...]
    plastic_mm3: float
    shape: BaseGeometry


def place_rooms(
    cells: BaseGeometry,
    fixed: Sequence[Room],
    needs: Sequence[RoomNeed],
    free: BaseGeometry,
    rates: PlasticRates,
    *,
    lane_mm: tuple[float, float],
) -> list[RoomSet]:
    """Sets of places for all that needs a room; empty where none goes in.

    ``cells``: inside of the walls round the held cells alone. ``fixed``: rooms that stand already.
    ``free``: where the inside of all rooms may lie. ``lane_mm``: width and length that are kept
    free before one end wall of the fuse's room, for its glands.
    """
    shape = shapely.union_all([cells, *(room.plan for room in fixed)])
    sets = [RoomSet(rooms=(), plastic_mm3=0.0, shape=shape)]
    site = _Site(
        cells=cells.buffer(PARTITION_MM, quad_segs=4), fixed=tuple(fixed), free=free,
        rates=rates, lane_mm=lane_mm,
    )  # fmt: skip
    shapely.prepare(free)
    for need in needs:
        found = [grown for one in sets for grown in _with_room(site, one, need)]
        sets = _different(found)
        if not sets:
            return []
    return sets


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Site:
    """What stays the same while rooms are placed; ``cells`` with the partition round them."""

    cells: BaseGeometry
    fixed: tuple[Room, ...]
    free: BaseGeometry
    rates: PlasticRates
    lane_mm: tuple[float, float]

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
    taken = shapely.union_all([site.cells, *wet, *ways, *(room.plan for room in one.rooms)])
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
        rects = rects[shapely.contains(site.free, rects)]
        rects = rects[_wires_reach(site, one, need.kind, rects)]
        rects = rects[_lane_stays(site, one, need.kind, taken, rects)]
        found += _best(site, one, need.kind, rects)
    return found


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


def _lane_stays(
    site: _Site,
    one: RoomSet,
    kind: RoomKind,
    taken: BaseGeometry,
    rects: NDArray[np.object_],
) -> NDArray[np.bool_]:
    """(n,) one end wall of the fuse's room stays free for glands, whichever room comes."""
    stays = np.ones(len(rects), dtype=np.bool_)
    if kind is RoomKind.FUSE:
        for k, bounds in enumerate(shapely.bounds(rects).tolist()):
            x0, y0, x1, y1 = bounds
            lanes = _lane_shapes(Rect(x0=x0, y0=y0, x1=x1, y1=y1), site)
            stays[k] = any(not lane.intersects(taken) for lane in lanes)
    for room in one.rooms:
        if room.kind is RoomKind.FUSE:
            lanes = [lane for lane in _lane_shapes(room.rect, site) if not lane.intersects(taken)]
            stays &= ~np.all([shapely.intersects(rects, lane) for lane in lanes], axis=0)
    return stays


def _lane_shapes(rect: Rect, site: _Site) -> list[shapely.Polygon]:
    """Lanes, begun a little off the room."""
    return [
        shapely.box(lane.x0, lane.y0, lane.x1, lane.y1).difference(
            shapely.box(rect.x0, rect.y0, rect.x1, rect.y1).buffer(2 * PLAY_MM)
        )
        for lane in gland_lanes(rect, site.lane_mm)
    ]


def _best(site: _Site, one: RoomSet, kind: RoomKind, rects: NDArray[np.object_]) -> list[RoomSet]:
    """The sets with the room at the places that take the least plastic."""
    if len(rects) > MERGED:
        hulls = shapely.area(shapely.convex_hull(shapely.union(rects, one.shape.convex_hull)))
        rects = rects[np.argsort(hulls, kind="stable")[:MERGED]]
    over = np.array([-OVER_MM, -OVER_MM, OVER_MM, OVER_MM])
    shapes = shapely.union(shapely.box(*(shapely.bounds(rects) + over).T), one.shape)
    plastic = site.rates.mm3(shapes)
    sets = []
    for k in np.argsort(plastic, kind="stable")[:KEPT].tolist():
        x0, y0, x1, y1 = shapely.bounds(rects[k]).tolist()
        room = Room(kind=kind, name=kind.value, rect=Rect(x0=x0, y0=y0, x1=x1, y1=y1))
        sets.append(
            RoomSet(rooms=(*one.rooms, room), plastic_mm3=float(plastic[k]), shape=shapes[k])
        )
    return sets


def _different(sets: Sequence[RoomSet]) -> list[RoomSet]:
    """The best, and each with its last room on another side or turned the other way."""
    kept: list[RoomSet] = []
    seen = set()
    for one in sorted(sets, key=lambda s: s.plastic_mm3):
        rect = one.rooms[-1].rect
        x, y = rect.centre_mm
        wide, high = rect.size_mm
        key = (round(x / SIDE_MM), round(y / SIDE_MM), wide > high)
        if key not in seen:
            seen.add(key)
            kept.append(one)
        if len(kept) == BEAM:
            break
    return kept
