"""Where the lid's screws stand: the cheapest closed chain round the rim without too wide a gap.

A screw stands in a hollow of the outline, in an inner corner of a dry room, in a rib outside the
wall, or in the way of wires, over them. Most take a heat-set insert; where its boss finds no room,
one that forms its own thread in a smaller boss does: it holds the lid and nothing else.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.parts.shell import Rect

__all__ = [
    "BOSS_HIGH_MM", "FORMING_DEEP_MM", "INSERT_BOSS_MM", "INSERT_HOLE_MM", "PITCH_MM", "LidScrew",
    "ScrewSite", "choose_lid_screws",
]  # fmt: skip

Point = tuple[float, float]

# All common practice or judgement, no source.
PITCH_MM = 70.0  # the lid bows between two screws
INSERT_BOSS_MM = 4.2  # radius: a hole of 4.0 for an M3 insert, and plastic of 2.2 round it
FORMING_BOSS_MM = 3.2  # radius: a hole of 2.5 for a screw that forms its thread
INSERT_HOLE_MM, FORMING_HOLE_MM = 2.0, 1.25  # radii
BOSS_HIGH_MM = 12.0  # under the rim; below it a boss leans into the wall
FORMING_DEEP_MM = 9.0  # a screw 10 long through a lid of 2, and what it pushes before it
APART_MM = 12.0  # two screws nearer than this are one too many
RIB_STEP_MM = 6.0  # of the places along the wall
CORNER_IN_MM = 2.6  # a corner's boss, from both walls: it merges with them
CORNER_OFF_MM = 4.0  # a corner farther than this from the wall is no corner of the outline
TOUCH_MM = 0.05
BOTTOM_MM = 0.02  # of a hollow: no farther from the ball's middle than this and the nearest point
BEGINNINGS = 4  # screws that the chain is begun at
ALONG_RATIO = 1.25  # way along the wall between two screws, over the pitch: round a corner
# what a place costs, as a number of screws times ten: the fewer the better, hollows first
SCREW, FORMING, RIB, CORNER, WAY = 10.0, 6.0, 3.0, 1.0, 12.0
STICKS_OUT, BEYOND_HULL, UNEVEN = 0.1, 0.4, 4.0  # by mm2 outside the wall, outside its hull


@dataclass(frozen=True, kw_only=True, slots=True)
class LidScrew:
    """A lid screw's boss. ``insert``: heat-set, else its screw forms the thread.

    ``foot_mm``: the point of the wall's inner face that it leans towards: the nearest, in a hollow
    the middle of its bottom."""

    x_mm: float
    y_mm: float
    insert: bool
    foot_mm: Point

    @property
    def radius_mm(self) -> float:
        """Radius of the boss."""
        return INSERT_BOSS_MM if self.insert else FORMING_BOSS_MM

    @property
    def hole_radius_mm(self) -> float:
        """Radius of its hole."""
        return INSERT_HOLE_MM if self.insert else FORMING_HOLE_MM

    @property
    def at_mm(self) -> Point:
        """Its axis in the plan."""
        return self.x_mm, self.y_mm


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ScrewSite:
    """Where bosses may stand.

    ``inner``, ``outer``: inside and outside of the walls; ``seats``: the ball's places in their
    hollows; ``corners_of``: dry rooms; ``ways``: rooms that wires pass below bosses. ``allowed``:
    all of a boss lies within it; ``kept_off``: no insert boss's nor other's wall may reach into it.
    ``forming``: what a rib without an insert costs more than one with it.
    """

    inner: shapely.Polygon
    outer: shapely.Polygon
    seats: Sequence[Point]
    corners_of: Sequence[Rect]
    allowed: BaseGeometry
    kept_off: BaseGeometry
    ways: Sequence[Rect] = ()
    forming: float = FORMING


def choose_lid_screws(site: ScrewSite) -> tuple[LidScrew, ...] | None:
    """Screws round the lid, counter-clockwise; None where no chain closes."""
    places = _places(site)
    if len(places.cost) < 3:
        return None
    best: tuple[float, list[int]] | None = None
    for begin in np.argsort(places.cost, kind="stable")[:BEGINNINGS].tolist():
        chain = _chain(places, begin)
        if chain is not None and (best is None or chain[0] < best[0]):
            best = chain
    if best is None:
        return None
    screws = []
    for k in sorted(best[1]):
        x, y = places.xy[k].tolist()
        u, v = places.foot[k].tolist()
        screws.append(LidScrew(x_mm=x, y_mm=y, insert=bool(places.insert[k]), foot_mm=(u, v)))
    return tuple(screws)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Places:
    """Candidates in order round the wall: (n, 2) axes and feet, kind, place along it, cost."""

    xy: NDArray[np.float64]
    foot: NDArray[np.float64]
    insert: NDArray[np.bool_]
    along: NDArray[np.float64]
    cost: NDArray[np.float64]
    round_mm: float


def _places(site: ScrewSite) -> _Places:
    """All places where a boss may stand, with their costs."""
    found = _seats(site) + _ribs(site) + _corners(site) + _in_ways(site)
    ring, hull = site.inner.exterior, site.outer.convex_hull
    xy = np.array([place.at for place in found]).reshape(-1, 2)
    foot = np.array([place.foot for place in found]).reshape(-1, 2)
    insert = np.array([place.insert for place in found], dtype=np.bool_)
    extra = np.array([place.cost for place in found])
    radius = np.where(insert, INSERT_BOSS_MM, FORMING_BOSS_MM)
    points = shapely.points(xy)
    discs = shapely.buffer(points, radius, quad_segs=6)
    for shape in (site.allowed, site.kept_off, site.outer, hull):
        shapely.prepare(shape)
    stands = shapely.contains(site.allowed, discs)
    # a boss outside a straight wall touches what ends at its inner face
    stands &= shapely.distance(site.kept_off, points) >= radius - TOUCH_MM
    outside = shapely.area(shapely.difference(discs, site.outer))
    beyond = shapely.area(shapely.difference(discs, hull))
    cost = SCREW + extra + STICKS_OUT * outside + BEYOND_HULL * beyond
    along = shapely.line_locate_point(ring, shapely.points(foot))
    order = np.lexsort((cost, along))
    order = order[stands[order]]
    return _Places(
        xy=xy[order], foot=foot[order], insert=insert[order], along=along[order], cost=cost[order],
        round_mm=float(ring.length),
    )  # fmt: skip


class _Place(NamedTuple):
    """A candidate: its axis, kind, extra cost and foot."""

    at: Point
    insert: bool
    cost: float
    foot: Point


def _seats(site: ScrewSite) -> list[_Place]:
    """In each hollow a boss with an insert at the ball's place, and a small one nearer to the wall.

    All of the hollow's bottom is as far from the ball's middle: the foot is the middle of it."""
    ring = shapely.get_coordinates(site.inner.exterior)[:-1]
    found = []
    for seat in site.seats:
        away = ring - seat
        far = np.hypot(*away.T)
        bottom = far < far.min() + BOTTOM_MM
        u, v = (away[bottom] / far[bottom, None]).sum(axis=0).tolist()
        ball, length = float(far.min()), math.hypot(u, v)
        u, v = u / length, v / length
        x, y = seat
        foot = (x + ball * u, y + ball * v)
        found.append(_Place(seat, True, 0.0, foot))
        off = ball - FORMING_BOSS_MM
        found.append(_Place((x + off * u, y + off * v), False, FORMING, foot))
    return found


def _ribs(site: ScrewSite) -> list[_Place]:
    """Anywhere outside the wall, against its inner face."""
    ring = site.inner.exterior
    found = []
    for at in np.arange(0.0, ring.length, RIB_STEP_MM).tolist():
        p, q = ring.interpolate(at), ring.interpolate(at + 0.1)
        out = np.array((q.y - p.y, p.x - q.x))
        out = out / np.hypot(*out)
        for radius, insert, cost in (
            (INSERT_BOSS_MM, True, RIB),
            (FORMING_BOSS_MM, False, RIB + site.forming),
        ):
            x, y = (np.array((p.x, p.y)) + out * radius).tolist()
            found.append(_Place((x, y), insert, cost, (p.x, p.y)))
    return found


def _corners(site: ScrewSite) -> list[_Place]:
    """In dry rooms' corners that lie at the wall."""
    ring = site.inner.exterior
    found = []
    for rect in site.corners_of:
        for x in (rect.x0 + CORNER_IN_MM, rect.x1 - CORNER_IN_MM):
            for y in (rect.y0 + CORNER_IN_MM, rect.y1 - CORNER_IN_MM):
                at = shapely.Point(x, y)
                if ring.distance(at) < CORNER_OFF_MM:
                    foot = ring.interpolate(ring.project(at))
                    found.append(_Place((x, y), True, CORNER, (foot.x, foot.y)))
    return found


def _in_ways(site: ScrewSite) -> list[_Place]:
    """Inside along the walls of ways: they merge with the wall and lean into it above the wires."""
    ring = site.inner.exterior
    found = []
    for rect in site.ways:
        wide, high = rect.size_mm
        x, y = rect.centre_mm
        for at in np.arange(-max(wide, high) / 2, max(wide, high) / 2, RIB_STEP_MM).tolist():
            for side in (-1.0, 1.0):
                if wide >= high:
                    edge, out = (x + at, y + side * high / 2), (0.0, side)
                else:
                    edge, out = (x + side * wide / 2, y + at), (side, 0.0)
                if ring.distance(shapely.Point(edge)) < TOUCH_MM:
                    u, v = edge
                    axis = (u - CORNER_IN_MM * out[0], v - CORNER_IN_MM * out[1])
                    found.append(_Place(axis, True, WAY, edge))
    return found


def _chain(places: _Places, begin: int) -> tuple[float, list[int]] | None:
    """The cheapest closed chain through a place: its cost, and the places in it."""
    n = len(places.cost)
    order = [*range(begin, n), *range(begin + 1)]
    along = places.along[order]
    along = along + np.where(np.arange(n + 1) >= n - begin, places.round_mm, 0.0)
    xy, cost = places.xy[order], places.cost[order]
    total = np.full(n + 1, math.inf)
    total[0], before = 0.0, np.zeros(n + 1, dtype=np.int64)
    for i in range(1, n + 1):
        first = int(np.searchsorted(along, along[i] - ALONG_RATIO * PITCH_MM))
        if first >= i:
            continue
        step = along[i] - along[first:i]
        gap = np.hypot(*(xy[i] - xy[first:i]).T)
        reached = np.where(
            (gap > APART_MM) & (gap <= PITCH_MM),
            total[first:i] + cost[i] + UNEVEN * (step / PITCH_MM) ** 2,
            math.inf,
        )
        k = int(np.argmin(reached))
        total[i], before[i] = reached[k], first + k
    if not math.isfinite(total[n]):
        return None
    chain, k = [], int(before[n])
    while k > 0:
        chain.append(order[k])
        k = int(before[k])
    return float(total[n]), [begin, *chain]
