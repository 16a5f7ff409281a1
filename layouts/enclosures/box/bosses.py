"""Where the tub's bosses stand: lid screws round the rim, and what holds the cell block."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.box.shapes import boss_shape
from layouts.enclosures.box.sizes import Boss
from layouts.enclosures.play import DIRECTIONS, FIT_MM, HOLD_MM, play_mm
from layouts.errors import PlanError
from layouts.parts.shell import Rect, box

SCREW_PITCH_MM = 70.0  # lid screws are no farther apart; common practice, no source
THIN_MM = 3.0  # a free boss's radius at least: it is as high as the tub
WEB_MM = 4.0  # width of the rib from a boss to its wall
EMBED_MM = 2.5  # a free boss's centre stands so far inside the wall's inner face
OUT_MM = 4.9  # a boss rib's centre stands so far outside it, clear of the cavity
TANGENT_MM = 0.06  # nearer to touching a wall's face than this a boss is moved on
STEP_MM = 2.0  # of the places tried along a wall
NEAR_SEAT_MM = 14.0  # a seat farther from its wall is no place for a lid screw
# From a boss to a mounting pad beside it, or they run into each other: lines on both sides do not
# close a gap of 0.4, nor first layers that bulge by 0.15 each; common practice, no source
OPEN_MM = 0.7
SLACK = 0.02  # of the fine polygons that gaps are judged with


@dataclass(frozen=True, kw_only=True, slots=True)
class InnerWall:
    """One inner wall of the cavity.

    ``axis`` 0: it runs along x (the -y or +y wall), 1: along y. ``sign``: which side of
    the cavity. ``at_mm``: its inner face on the other axis.
    """

    axis: int
    sign: int
    at_mm: float

    def inside_mm(self, x: float, y: float) -> float:
        """How far a point stands inside the wall's inner face."""
        return self.sign * (self.at_mm - (y if self.axis == 0 else x))

    def along_mm(self, x: float, y: float) -> float:
        """A point's place along the wall."""
        return x if self.axis == 0 else y

    def point(self, along: float, inside: float) -> tuple[float, float]:
        """The point that far along and inside."""
        across = self.at_mm - self.sign * inside
        return (along, across) if self.axis == 0 else (across, along)


def walls(cavity: Rect) -> tuple[InnerWall, InnerWall, InnerWall, InnerWall]:
    """-y, +x, +y, -x: counter-clockwise round the cavity."""
    return (
        InnerWall(axis=0, sign=-1, at_mm=cavity.y0),
        InnerWall(axis=1, sign=1, at_mm=cavity.x1),
        InnerWall(axis=0, sign=1, at_mm=cavity.y1),
        InnerWall(axis=1, sign=-1, at_mm=cavity.x0),
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class BossKeepout:
    """What bosses must keep clear of. ``cell_block``: outline and strip ends that go down past
    them.

    ``taken``: board, guides, and glands with their nuts on both sides of the wall. ``pads``:
    mounting pads and blocks on the outside, that a boss may run into, but not nearly. ``wall_mm``:
    the tub's wall; ``radius_mm``: a boss's."""

    cavity: Rect
    cell_block: BaseGeometry
    taken: BaseGeometry
    wall_mm: float
    radius_mm: float
    pads: BaseGeometry = field(default_factory=shapely.Polygon)

    def __post_init__(self) -> None:
        """Index all shapes: hundreds of places are tried against them."""
        shapely.prepare([self.cell_block, self.taken, self.pads])


def clear(keepout: BossKeepout, boss: Boss) -> bool:
    """A boss with its web is clear of the cell block's insertion path and the compartment."""
    return not (
        _within(keepout.cell_block, boss, FIT_MM - SLACK)
        or (not keepout.taken.is_empty and _within(keepout.taken, boss, FIT_MM - SLACK))
    )


def columns_clear(keepout: BossKeepout, places: Sequence[tuple[float, float]]) -> NDArray[np.bool_]:
    """The same for many bosses without webs at once, by their middles."""
    middles = shapely.points(np.asarray(places, dtype=np.float64).reshape(-1, 2))
    reach = keepout.radius_mm + FIT_MM - SLACK
    near = shapely.dwithin(keepout.cell_block, middles, reach)
    if not keepout.taken.is_empty:
        near |= shapely.dwithin(keepout.taken, middles, reach)
    if not keepout.pads.is_empty:
        gaps = shapely.distance(keepout.pads, middles) - keepout.radius_mm
        near |= (gaps > 0.0) & (gaps < OPEN_MM)
    free: NDArray[np.bool_] = ~near
    return free


def _within(shape: BaseGeometry, boss: Boss, gap_mm: float) -> bool:
    """A boss or its web comes nearer to a (prepared) shape than the gap."""
    middle = shapely.Point(boss.x_mm, boss.y_mm)
    if shapely.dwithin(shape, middle, boss.radius_mm + gap_mm):
        return True
    return boss.web is not None and bool(shapely.dwithin(shape, box(boss.web), gap_mm))


def corner_bosses(keepout: BossKeepout) -> tuple[Boss, Boss, Boss, Boss]:
    """One in each corner, as far inside as possible: -x-y, +x-y, +x+y, -x+y."""
    c = keepout.cavity
    return tuple(
        _corner(keepout, (c.x1 if sx > 0 else c.x0, c.y1 if sy > 0 else c.y0), sx, sy)
        for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    )  # type: ignore[return-value]


def _corner(keepout: BossKeepout, corner: tuple[float, float], sx: int, sy: int) -> Boss:
    steps = 60
    for k in range(steps):
        inside = EMBED_MM - 0.1 * k
        if abs(keepout.radius_mm - inside - keepout.wall_mm) < TANGENT_MM:
            continue
        x, y = corner[0] - sx * inside, corner[1] - sy * inside
        boss = Boss(x_mm=x, y_mm=y, radius_mm=keepout.radius_mm, screw=True, seat=False)
        if clear(keepout, boss):
            near = shapely.distance(shapely.Point(x, y), keepout.cell_block)
            return replace(boss, seat=bool(near < keepout.radius_mm + FIT_MM + 0.2))
    raise PlanError(
        field="enclosure.side_gap_mm",
        why=f"leaves no space for a lid screw in the corner at ({corner[0]:.1f}, {corner[1]:.1f})",
        remedy="use a larger one",
    )


def web_to(keepout: BossKeepout, wall: InnerWall, x: float, y: float) -> Rect | None:
    """Straight rib from a boss's middle to half-way into a wall; None where none is needed."""
    inside = wall.inside_mm(x, y)
    if inside <= 3.5:  # the boss itself meets the wall over 5 mm and more
        return None
    half, far = WEB_MM / 2, wall.at_mm + wall.sign * keepout.wall_mm / 2
    if wall.axis == 0:
        return Rect(x0=x - half, x1=x + half, y0=min(y, far), y1=max(y, far))
    return Rect(x0=min(x, far), x1=max(x, far), y0=y - half, y1=y + half)


def _untangled(keepout: BossKeepout, wall: InnerWall, x: float, y: float) -> tuple[float, float]:
    """Moved towards the wall by a hair where the boss would just touch one of its faces."""
    inside = wall.inside_mm(x, y)
    for face in (keepout.radius_mm - keepout.wall_mm, keepout.radius_mm):
        if abs(inside - face) < TANGENT_MM:
            inside = face - 2 * TANGENT_MM
    return wall.point(wall.along_mm(x, y), inside)


def seat_boss(
    keepout: BossKeepout, wall: InnerWall, seat: tuple[float, float], *, screw: bool
) -> Boss | None:
    """A boss in a hollow of the cell block, joined to a wall; None where that is not possible."""
    if wall.inside_mm(*seat) < -keepout.radius_mm:
        return None
    x, y = _untangled(keepout, wall, *seat)
    boss = Boss(
        x_mm=x, y_mm=y, radius_mm=keepout.radius_mm, screw=screw, seat=True,
        web=web_to(keepout, wall, x, y),
    )  # fmt: skip
    return boss if clear(keepout, boss) else None


def wall_bosses(
    keepout: BossKeepout,
    wall: InnerWall,
    first: Boss,
    last: Boss,
    seats: Sequence[tuple[float, float]],
    *,
    pitch_mm: float = SCREW_PITCH_MM,
) -> tuple[Boss, ...] | None:
    """The fewest lid bosses between two corners with no gap above the pitch.

    Hollows of the cell block are preferred (they locate it), then bosses inside the wall, then boss
    ribs outside it. None where a stretch above the pitch has no place at all."""
    a = min(wall.along_mm(b.x_mm, b.y_mm) for b in (first, last))
    b = max(wall.along_mm(k.x_mm, k.y_mm) for k in (first, last))
    ends = sorted((first, last), key=lambda k: wall.along_mm(k.x_mm, k.y_mm))
    places = [*_seat_places(keepout, wall, seats, a, b), *_plain_places(keepout, wall, a, b)]
    places.sort(key=lambda place: wall.along_mm(place[1].x_mm, place[1].y_mm))
    chain = [(0.0, ends[0]), *places, (0.0, ends[1])]
    apart = 2 * keepout.radius_mm + 4.0  # two bosses leave wrench clearance between them
    return _cheapest(chain, wall, apart_mm=apart, pitch_mm=pitch_mm)


def _seat_places(
    keepout: BossKeepout, wall: InnerWall, seats: Sequence[tuple[float, float]], a: float, b: float
) -> list[tuple[float, Boss]]:
    """Costs and bosses in the cell block's hollows between ``a`` and ``b`` along the wall."""
    places: list[tuple[float, Boss]] = []
    for seat in seats:
        if wall.inside_mm(*seat) <= NEAR_SEAT_MM and a < wall.along_mm(*seat) < b:
            boss = seat_boss(keepout, wall, seat, screw=True)
            if boss is not None:
                places.append((1.0, boss))
    return places


def _plain_places(
    keepout: BossKeepout, wall: InnerWall, a: float, b: float
) -> list[tuple[float, Boss]]:
    """Costs and bosses inside the wall, else outside it, in steps from ``a`` to ``b``."""
    places: list[tuple[float, Boss]] = []
    # mounting pads and drip skirts stand out of the walls along y anyway; along x a boss rib makes
    # all larger
    outside = 2.6 if wall.axis == 0 else 1.6
    middle, count = (a + b) / 2, int((b - a) / 2 / STEP_MM)
    kinds = ((1.15, EMBED_MM), (outside, -OUT_MM))
    tried = [
        [wall.point(middle + k * STEP_MM, inside) for k in range(-count, count + 1)]
        for _, inside in kinds
    ]
    free = [columns_clear(keepout, points) for points in tried]
    for k in range(2 * count + 1):
        for (cost, _), points, clear_here in zip(kinds, tried, free, strict=True):
            if clear_here[k]:
                x, y = points[k]
                boss = Boss(x_mm=x, y_mm=y, radius_mm=keepout.radius_mm, screw=True, seat=False)
                places.append((cost, boss))
                break
    return places


def _cheapest(
    chain: list[tuple[float, Boss]], wall: InnerWall, *, apart_mm: float, pitch_mm: float
) -> tuple[Boss, ...] | None:
    """The cheapest way along costs and bosses from the first to the last, both left out.

    Gaps from ``apart_mm`` to ``pitch_mm``; None where there is no such way.
    """
    best: list[tuple[float, int]] = [(0.0, -1)]
    middles = [(boss.x_mm, boss.y_mm) for _, boss in chain]
    alongs = [wall.along_mm(x, y) for x, y in middles]
    for i in range(1, len(chain)):
        cost = chain[i][0]
        options = []
        for j in range(i - 1, -1, -1):
            if alongs[i] - alongs[j] > pitch_mm:
                break
            if best[j][0] == math.inf:
                continue
            gap = math.dist(middles[i], middles[j])
            near_corner = i == len(chain) - 1 or j == 0
            if gap > pitch_mm or (gap < apart_mm and not (near_corner and len(chain) == 2)):
                continue
            options.append((best[j][0] + 10 * cost + (gap / pitch_mm) ** 2, j))
        best.append(min(options, default=(math.inf, -1)))
    if not math.isfinite(best[-1][0]):
        return None
    found: list[Boss] = []
    at = best[-1][1]
    while at > 0:
        found.append(chain[at][1])
        at = best[at][1]
    return tuple(reversed(found))


def locating_columns(
    keepout: BossKeepout,
    bosses: Sequence[Boss],
    seats: Sequence[tuple[float, float]],
    body: BaseGeometry,
) -> tuple[Boss, ...]:
    """Plain bosses in hollows until the cell block can slide no way farther than ``HOLD_MM``.

    ``body``: the cell block's outline alone, without the strips that run out of it."""
    rim = box(keepout.cavity.grown(10.0)).difference(box(keepout.cavity))
    standing = shapely.union_all([rim, *(boss_shape(b) for b in bosses)])
    sides = [w for w in walls(keepout.cavity) if not (w.axis == 1 and w.sign > 0)]
    added: list[Boss] = []
    for direction in DIRECTIONS.values():
        if play_mm(body, standing, direction) <= HOLD_MM:
            continue
        held = [
            (round(wall.inside_mm(*seat), 3), seat, wall.axis, boss)
            for seat in seats
            for wall in sides
            if (boss := seat_boss(keepout, wall, seat, screw=False)) is not None
            and _stops(boss, (*bosses, *added), body, direction)
        ]
        # no rib reaches a hollow from a wall: a boss that stands free on the floor, if need be a
        # thinner one between strips that run out
        free = (
            boss
            for start in _before(body, direction)
            for radius in (keepout.radius_mm, THIN_MM)
            if clear(keepout, boss := _against(body, start, radius, direction))
            and _stops(boss, (*bosses, *added), body, direction)
        )
        boss = min(held, key=lambda option: option[:3])[3] if held else next(free, None)
        if boss is not None:
            added.append(boss)
            standing = standing.union(boss_shape(boss))
    return tuple(added)


def _stops(
    boss: Boss, others: Sequence[Boss], body: BaseGeometry, direction: tuple[int, int]
) -> bool:
    """A boss clear of the others that stops the cell block's body one way."""
    return (
        all(math.dist((boss.x_mm, boss.y_mm), (b.x_mm, b.y_mm)) >= 2 * b.radius_mm for b in others)
        and play_mm(body, boss_shape(boss), direction) <= HOLD_MM
    )


def _before(body: BaseGeometry, direction: tuple[int, int]) -> list[tuple[float, float]]:
    """Places 1 mm apart before one side of the cell block, the nearest to its middle first."""
    x0, y0, x1, y1 = body.bounds
    if direction[0]:
        low, high, fixed = y0, y1, (x1 if direction[0] > 0 else x0) + direction[0] * 10.0
    else:
        low, high, fixed = x0, x1, (y1 if direction[1] > 0 else y0) + direction[1] * 10.0
    middle = (low + high) / 2
    along = sorted(
        (middle + k for k in range(-int(high - middle), int(high - middle) + 1)),
        key=lambda at: (abs(at - middle), at),
    )
    return [(fixed, at) if direction[0] else (at, fixed) for at in along]


def _against(
    body: BaseGeometry, start: tuple[float, float], radius_mm: float, direction: tuple[int, int]
) -> Boss:
    """A free boss moved up to the cell block from before it, until only the fit is left."""
    x, y = start
    while True:
        left = float(shapely.distance(shapely.Point(x, y), body)) - radius_mm - FIT_MM
        if left < 0.01:
            return Boss(x_mm=x, y_mm=y, radius_mm=radius_mm, screw=False, seat=True)
        # never farther than the nearest point: the cell block is not jumped over
        x, y = x - left * direction[0], y - left * direction[1]
        if not math.isfinite(x + y) or abs(x - start[0]) + abs(y - start[1]) > 40.0:
            return Boss(x_mm=x, y_mm=y, radius_mm=radius_mm, screw=False, seat=True)
